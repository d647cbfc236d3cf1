import { U } from "../lib/units";
import { useMemo, useRef, useState } from "preact/hooks";
import { Buy, Margins, Part, Row } from "../api";
import { fixed, signed, wordIn } from "../lib/text";
import { Empty, Mark, Seg, Twin, useData } from "../parts";
import { duty, fit, fresh, go, margins, part, save, select, tables } from "../state";
import { HistoryChart } from "./History";

const LEFT = 90, RIGHT = -26;
const share = (k: number) => ((LEFT - Math.max(Math.min(k, LEFT), RIGHT)) / (LEFT - RIGHT)) * 100;
const at = (k: number) => share(k / U.scale);
/** Figures on the axis. */
const ends = () => (U.us ? [150, 120, 90, 60, 30, 0, -30] : [80, 60, 40, 20, 0, -20]);

/** Rows to show: each part in its worst duty, or one duty. They come over first, then thin, then holds. */
export function shownRows(m: Margins, only: string): Row[] {
  const seen = new Set<string>();
  return m.rows.filter((r) => (only ? r.duty === only : !seen.has(r.part) && seen.add(r.part)));
}

export function MarginsScreen() {
  const m = margins.value!;
  const [order, setOrder] = useState<"state" | "left" | "name">("state");
  const rows = useMemo(() => {
    const found = shownRows(m, duty.value);
    if (order === "name") return [...found].sort((a, b) => a.title.localeCompare(b.title));
    return order === "left" ? [...found].sort((a, b) => a.left - b.left) : found;
  }, [m.rows, duty.value, order]);
  const picked = rows.find((r) => r.part === part.value) ?? rows[0];
  return (
    <div class="cols s-margins">
      <section class="first-col" aria-label="Measures"><Measures m={m} picked={picked} /></section>
      <section aria-label="Every part against its limit">
        <div class="head">
          <h2>Every part against its limit</h2><span class="note">{rows.length} parts, {m.head.duties.length} duties</span>
          <span class="end"><span class="note">order by</span><Seg label="Order" items={[["state", "State"], ["left", "What is left"], ["name", "Name"]]} value={order} onPick={setOrder} /></span>
        </div>
        <div class="chips" role="group" aria-label="Duty">
          <button type="button" aria-pressed={!duty.value} onClick={() => (duty.value = "")}>All duties, worst of each</button>
          {m.head.duties.map((d) => <button type="button" key={d.key} aria-pressed={duty.value === d.key} title={d.note} onClick={() => (duty.value = d.key)}>{d.name}</button>)}
        </div>
        {m.rows.length ? <Chart rows={rows} m={m} picked={picked} /> : <NotYet m={m} />}
      </section>
      <aside class="side" aria-label="Selected part">{picked && <Short row={picked} m={m} />}</aside>
    </div>
  );
}

function NotYet({ m }: { m: Margins }) {
  return (
    <div>
      <Empty title={m.head.failed ? "Could not be solved" : "Not computed yet"}><p>{m.head.failed ? `${m.head.failed.what}. Next step: ${m.head.failed.next_step}.` : "All duties are being solved; parts and limits stand below. The first run on a machine compiles for a minute or two."}</p></Empty>
      <Twin shown caption="Limits" head={["Part", `Limit, ${U.degree}`]} rows={m.limits.map((l) => [l.title, l.limit_text])} />
    </div>
  );
}

function Measures({ m, picked }: { m: Margins; picked?: Row }) {
  const s = m.measures;
  const gain = (name: string, fitted: boolean) => {
    const k = picked ? m.gains[name]?.[picked.part] : undefined;
    if (fitted) return "·";
    return k === undefined ? "" : signed(k, Math.abs(k) < 0.95 && Math.abs(k) >= 0.05 ? 1 : 0);
  };
  return (
    <>
      <div class="head"><h2>Measures</h2><span class="note">{s.fitted} of {s.count} fitted</span>{picked && <span class="end note" style="display:block;max-width:156px;overflow:hidden;text-overflow:ellipsis;white-space:nowrap">{U.step}: gain on {wordIn(picked.title)}</span>}</div>
      <div class="mrow head2"><span /><span>Measure</span><span class="num">{U.step}</span><span class="num">{s.currency}</span><span class="num">{U.mass}</span><span class="num">min</span></div>
      {s.groups.map((g) => (
        <div key={g.title} role="group" aria-label={g.title}>
          <h3 class="group">{g.title}</h3>
          {g.measures.map((one) => (
            <label key={one.name} class={`mrow ${one.fitted ? "fitted" : ""} ${one.changed ? "changed" : ""}`} title={one.note || undefined}>
              <input type="checkbox" data-measure={one.name} checked={one.fitted} onClick={(e) => { e.preventDefault(); void fit(one.name, !one.fitted); }} />
              <span class="t">{one.title}</span>
              <span class="num gain">{one.changed ? <small class="gain">{one.fitted ? "new" : "out"}</small> : gain(one.name, one.fitted)}</span>
              <span class="num">{one.cost}</span><span class="num">{one.mass}</span><span class="num">{one.labour}</span>
            </label>
          ))}
        </div>
      ))}
      <div style="margin-top:8px">
        <div class="total"><span>Base kit</span><span class="num">{s.base.cost}</span><span class="num">{s.base.mass}</span><span class="num">{s.base.labour}</span></div>
        <div class="total sum"><span>Kit as fitted</span><span class="num">{s.total.cost}</span><span class="num">{s.total.mass}</span><span class="num">{s.total.labour}</span></div>
      </div>
      <div class="buttons">
        <button type="button" class="btn main" onClick={() => go("compare")}>Compare sets</button>
        <button type="button" class="btn" disabled={!m.head.edits.unsaved} onClick={() => void save()}>Save<kbd>S</kbd></button>
      </div>
    </>
  );
}

function Chart({ rows, m, picked }: { rows: Row[]; m: Margins; picked?: Row }) {
  const list = useRef<HTMLDivElement>(null);
  const keys = (e: KeyboardEvent) => {
    const step = e.key === "ArrowDown" ? 1 : e.key === "ArrowUp" ? -1 : 0;
    if (!step) return;
    e.preventDefault();
    const k = Math.max(0, Math.min(rows.length - 1, rows.findIndex((r) => r.part === picked?.part) + step));
    select(rows[k].part);
    (list.current?.querySelectorAll("button.prow")[k] as HTMLElement)?.focus();
  };
  const anySaved = rows.some((r) => r.saved !== null);
  return (
    <>
      <div hidden={tables.value}>
        <div class="prow chart charthead" aria-hidden="true">
          <span /><span>Part</span>
          <span class="bar"><svg viewBox="0 0 100 34" preserveAspectRatio="none" />
            <span style="position:absolute;left:0;bottom:14px;right:24%;text-align:center">{U.us ? "degrees F" : "kelvin"} left before the limit</span><span style="position:absolute;right:0;bottom:14px">past it</span>
            {ends().map((k) => <span key={k} class={k ? "" : "bold"} style={`position:absolute;left:${at(k)}%;transform:translateX(-50%);bottom:0;${k ? "" : "color:var(--ink)"}`}>{k ? fixed(k) : "limit"}</span>)}
          </span>
          <span class="num" style="grid-column:span 2">{U.step} left ±</span><span class="num">Judged</span><span class="num">Limit</span><span class="rulecell" title="What the judged temperature is, and which limit it is held against">Over it for, which</span><span class="dutycell" style="padding-left:12px">{duty.value ? "When" : "Worst on"}</span>
        </div>
        <div ref={list} class="rows" onKeyDown={keys} role="group" aria-label="Parts against their limits" data-rows={rows.length}>
          {rows.map((r) => (
            <button type="button" key={r.part} class="prow chart" data-part={r.part} aria-current={r.part === picked?.part} onClick={() => select(r.part)} onDblClick={() => go("part", r.part)}
              title={`${r.rule}; ${r.when}`}>
              <Mark state={r.state} />
              <span class={`name ${r.state === "holds" ? "" : "bold"}`}>{r.title}</span>
              <Bar r={r} />
              <span class={`num ${r.state} bold`} data-margin={r.part}>{r.approx ? "≈ " : ""}{r.margin_text}</span>
              <span class="num" style="color:var(--ink2)">{r.half_text}</span>
              <span class="num" data-judged={r.part}>{r.judged_text}</span><span class="num" style="color:var(--ink2)" data-limit={r.part}>{r.limit_text}</span><span class="rulecell name" style="color:var(--ink2)">{r.rule_text}</span>
              <span class="dutycell name" style="padding-left:12px">{duty.value ? r.when : r.duty_name}</span>
            </button>
          ))}
        </div>
        <div class="legend">
          <span><Mark state="holds" /> holds</span><span><Mark state="thin" /> thin: band crosses the limit</span><span><Mark state="over" /> over</span>
          <span><svg width="30" height="12" aria-hidden="true"><rect x="2" y="3" width="26" height="6" fill="var(--holds)" opacity=".35" /><rect x="14" y="0" width="3" height="12" fill="var(--holds)" /></svg> prediction{m.head.verdict.has_spread ? ` and band at ${fixed(100 * m.head.project.required)} % confidence` : "; spreads follow"}</span>
          {anySaved && <span><svg width="12" height="12" aria-hidden="true"><circle cx="6" cy="6" r="3.4" fill="none" stroke="var(--ink)" stroke-width="1.3" /></svg> saved</span>}
        </div>
      </div>
      {tables.value && <Twin shown caption="Every part against its limit" head={["Part", "State", `Margin, ${U.step}`, `±, ${U.step}`, `Judged, ${U.degree}`, `Limit, ${U.degree}`, "Over it for, which limit", `Peak, ${U.degree}`, "Sure", "Duty", "When"]} rows={rows.map((r) => [r.title, r.state, r.margin_text, r.half_text.replace("± ", ""), r.judged_text, r.limit_text, r.rule_text, r.peak_text, r.sure, r.duty_name, r.when])} />}
    </>
  );
}

function Bar({ r }: { r: Row }) {
  const c = `var(--${r.state})`, half = r.half ?? 0;
  const near = at(r.margin - half), far = at(r.margin + half), tick = at(r.margin), zero = at(0);
  const beyond = r.margin - half > LEFT * U.scale, past = r.margin + half < RIGHT * U.scale;
  return (
    <span class="bar" aria-hidden="true">
      <svg preserveAspectRatio="none">
        <rect x={`${zero}%`} y="0" width={`${100 - zero}%`} height="100%" fill="var(--overwash)" opacity="0.75" />
        {ends().filter((k) => k > 0).map((k) => <line key={k} class="grid" x1={`${at(k)}%`} x2={`${at(k)}%`} y1="0" y2="100%" />)}
        {r.saved !== null && <line x1={`${at(r.saved)}%`} x2={`${tick}%`} y1="50%" y2="50%" stroke="var(--ink2)" />}
        {!beyond && !past && <rect x={`${far}%`} y="30%" width={`${Math.max(Math.min(near, r.state === "thin" ? zero : 100) - far, 0.3)}%`} height="40%" fill={c} opacity="0.36" />}
        {r.state === "thin" && near > zero && <rect x={`${zero}%`} y="30%" width={`${near - zero}%`} height="40%" fill="url(#hatch)" />}
        <line x1={`${zero}%`} x2={`${zero}%`} y1="0" y2="100%" class="limit" />
        {!beyond && !past && <line x1={`${tick}%`} x2={`${tick}%`} y1="16%" y2="84%" stroke={c} stroke-width="3.4" />}
        {r.saved !== null && <circle cx={`${at(r.saved)}%`} cy="50%" r="3.3" fill="var(--page)" stroke="var(--ink)" stroke-width="1.3" />}
      </svg>
      {beyond && <span style={`position:absolute;left:0;top:4px;color:${c};font-size:11px`}>‹ {signed(r.margin)}</span>}
      {past && <span style={`position:absolute;right:2px;top:4px;color:${c};font-size:11px;font-weight:600`}>{signed(r.margin)} ›</span>}
    </span>
  );
}

function Short({ row, m }: { row: Row; m: Margins }) {
  const key = `parts/${encodeURIComponent(row.part)}?duty=${row.duty}`;
  const quick = useData<Part>(`${key}&short=true`, fresh.value).data;
  const { data, busy } = useData<Part>(key, `${fresh.value} ${Object.keys(m.gains).length}`, 200);
  const same = (d: Part | null) => (d && d.row.part === row.part && d.row.duty === row.duty ? d : null);
  const here = same(data), seen = here ?? same(quick);
  const stale = !m.head.full || busy; // what stands here is of the answer before until the reply is there
  return (
    <>
      <section data-stale={String(stale)}>
        <div class="head"><h2>{row.title}</h2><span class="end"><button type="button" class="link" onClick={() => go("part", row.part)}>Open part ↵</button></span></div>
        <div class="head"><span class={`big ${row.state}`}>{row.approx ? "≈ " : ""}{row.margin_text} {U.step}</span><span style="color:var(--ink2)">{row.half_text && `${row.half_text} ${U.step}`}</span><span class={`end bold ${row.state}`}><Mark state={row.state} /> {row.state}</span></div>
        <p style="font-size:12px;line-height:17px;color:var(--ink2)">{row.rule}, {row.when} in {wordIn(row.duty_name)}.{row.saved !== null ? ` Saved: ${signed(row.saved)} ${U.step}.` : ""}{row.sure !== "–" ? ` Chance that it holds: ${row.sure}.` : ""}{stale ? " Details follow the full answer." : ""}</p>
      </section>
      {seen && <section class={`gap ${stale ? "stale" : ""}`} style="margin-top:10px"><HistoryChart h={seen.history} state={row.state} half={row.half} small /></section>}
      {!here && <p class="note gap">Where its degrees come from is being worked out.</p>}
      {here && (
        <div class={stale ? "stale" : ""}>
          <section class="gap">
            <h2 style="font-size:13px">Where the {here.ledger.rise_text} {U.step} above ambient come from</h2>
            <table style="margin-top:4px"><tbody>{here.ledger.rows.slice(0, 7).map((c) => (
              <tr key={c.cause}><td style="border:0;padding:2px 0">{c.cause}</td><td style="border:0;padding:2px 6px;width:30%"><svg width="100%" height="10" aria-hidden="true"><rect width={`${Math.max(0, Math.min(100, (100 * c.rise) / Math.max(...here.ledger.rows.map((x) => x.rise), 1)))}%`} height="10" fill="var(--ledger, #cb7340)" /></svg></td><td class="num" style="border:0;padding:2px 0">{fixed(c.rise, 1)}</td></tr>
            ))}</tbody></table>
          </section>
          <section class="gap"><Buys buys={here.buys.slice(0, 4)} m={m} short /></section>
          <p class="note gap">Limit: {here.limit.text}. Source: {here.limit.source} ({here.limit.where}).</p>
        </div>
      )}
    </>
  );
}

export function Buys({ buys, m, short }: { buys: Buy[]; m: Margins; short?: boolean }) {
  const tried = Object.keys(m.gains).length;
  return (
    <>
      <div class="head"><h2 style={short ? "font-size:13px" : ""}>What would buy it back</h2><span class="end note">each fitted alone</span></div>
      {buys.length ? (
        <table><thead><tr>{!short && <th />}<th scope="col">Measure</th><th scope="col" class="num">{U.step}</th><th scope="col" class="num">left, {U.step}</th>{!short && <th scope="col" class="num">cost</th>}{!short && <th scope="col" class="num">min</th>}<th class="num"><span class="hidden">Fit</span></th></tr></thead>
          <tbody>{buys.map((b) => (
            <tr key={b.measure}>{!short && <td><Mark state={b.state} /></td>}<td>{b.title}{short ? `, ${b.cost}` : <><br /><small>{b.helps}</small></>}</td><td class="num gain">{b.gain_text}</td>
              <td class={`num ${b.state}`}>{b.left_text}</td>{!short && <td class="num">{b.cost}</td>}{!short && <td class="num">{b.labour}</td>}
              <td class="num"><button type="button" class="btn" aria-label={`Fit ${b.title}`} onClick={() => void fit(b.measure, true)}>Fit</button></td></tr>
          ))}</tbody></table>
      ) : <p class="note">{tried < m.measures.count && m.head.progress.what !== "idle" ? `Measures are being tried, ${tried} of ${m.measures.count} so far.` : tried === 0 ? "Measures have not been tried on this variant." : "No measure that is left out helps this part."}</p>}
    </>
  );
}
