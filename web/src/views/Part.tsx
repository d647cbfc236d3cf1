import { U } from "../lib/units";
import { useEffect, useState } from "preact/hooks";
import { get, History, Part } from "../api";
import { heat } from "../lib/ramp";
import { fixed, signed, ticks, wordIn } from "../lib/text";
import { Src } from "../Source";
import { Empty, Mark, Seg, Twin, useData, useWidth } from "../parts";
import { finding, fresh, margins, part, ramp, select, tables, theme } from "../state";
import { HistoryChart } from "./History";
import { Buys, shownRows } from "./Margins";

export function PartScreen() {
  const m = margins.value!;
  const rows = shownRows(m, "");
  const row = rows.find((r) => r.part === part.value) ?? rows[0];
  const [chosen, choose] = useState<Record<string, string>>({});
  const [by, setBy] = useState<"cause" | "path">("cause");
  const duty = row ? (chosen[row.part] ?? row.duty) : "";
  const { data, error, busy } = useData<Part>(row ? `parts/${encodeURIComponent(row.part)}?duty=${duty}` : null, `${fresh.value} ${Object.keys(m.gains).length}`);
  const here = data && data.row.part === row?.part ? data : null;
  const stale = !m.head.full || busy;
  const others = useOthers(row?.part ?? "", duty);
  return (
    <div class="cols s-part">
      <nav class="first-col plist" aria-label="Parts">
        <div class="head"><h2>Parts</h2><span class="end note">{U.step} left</span></div>
        {rows.map((r) => (
          <button type="button" key={r.part} class="prow" aria-current={r.part === row?.part} onClick={() => select(r.part)}><Mark state={r.state} /><span class={`name ${r.state === "holds" ? "" : "bold"}`}>{r.title}</span><span class={`num ${r.state}`}>{r.margin_text}</span></button>
        ))}
      </nav>
      {!here ? <Empty title={row ? "Where its degrees come from" : "Not computed yet"}><p>{error || "Being worked out: the run is followed step by step and every degree given to its cause."}</p></Empty> : (
        <section aria-label={here.row.title} class={stale ? "stale" : ""}>
          <div class="head"><span class="ptitle">{here.row.title}</span><span class={`bold ${here.row.state}`}><Mark state={here.row.state} /> {here.row.state} {here.row.margin_text} {here.row.half_text} {U.step}</span>
            <span class="note">judged {here.row.judged_text} {U.degree} ({here.row.rule_text} limit {here.row.limit_text} {U.degree}){here.row.sure !== "–" ? `, ${here.row.sure} sure` : ""}</span>
            <span class="end"><Seg label="Duty" items={here.duties.map((d) => [d.key, d.name] as [string, string])} value={here.row.duty} onPick={(d) => choose({ ...chosen, [here.row.part]: d })} /></span></div>
          <div class="head gap"><h2>Where the {here.ledger.rise_text} {U.step} above ambient come from</h2><span class="note">at {here.ledger.time_text}; {by === "cause" ? "sums exactly" : `${fixed(here.paths.in, 1)} W in, ${fixed(here.paths.out, 1)} W out, ${fixed(here.paths.stored, 1)} W stored`}</span>
            <span class="end"><Seg label="Ledger" items={[["cause", "By cause"], ["path", "By path"]]} value={by} onPick={setBy} /></span></div>
          {by === "cause" ? <Ledger p={here} /> : <ByPath p={here} />}
          <div class="head gap"><h2>Over the duty</h2><span class="note">{here.history.duty_name}; temperature in {U.degree}; the upright mark at the peak is the spread</span><span class="end"><button type="button" class="btn" onClick={() => { const others_ = rows.filter((r) => r.part !== here.row.part); const free = others_.find((r) => !others.keys.includes(r.part)); if (free) others.add(free.part); }}>Add a part</button>{others.keys.length > 0 && <button type="button" class="btn" onClick={others.clear}>Only this one</button>}</span></div>
          {others.keys.length > 0 && <div class="chips">{others.keys.map((k, i) => <select key={i} aria-label="Part to draw beside" value={k} onChange={(e) => others.swap(i, (e.target as HTMLSelectElement).value)}>{rows.map((r) => <option value={r.part} key={r.part}>{r.title}</option>)}</select>)}</div>}
          <HistoryChart h={here.history} state={here.row.state} half={here.row.half} others={others.found} />
          {tables.value && <Twin shown caption="History" head={["min", U.degree, U.speed]} rows={here.history.time.filter((_, k) => k % 12 === 0).map((t, k) => [fixed(t / 60, 1), here.history.value[k * 12], here.history.speed[k * 12]])} />}
          <p class="note">{here.closure} Limit: {here.limit.text}; {here.limit.source} ({here.limit.where}). <button type="button" class="link" style="font-size:11px;min-height:0" onClick={() => (finding.value = here.limit.path.replace(/\./g, " "))}>Show and change it</button></p>
        </section>
      )}
      <aside class="side" aria-label="Heat paths and buys">
        {here && (<div class={stale ? "stale" : ""}>
          <section><div class="head"><h2>Heat paths at the instant that decides</h2><span class="end note">watts</span></div><Paths p={here} /></section>
          <section class="gap"><Buys buys={here.buys} m={m} /></section>
          <section class="gap"><div class="head"><h2>What makes the {here.row.half_text || "spread"}{here.row.half_text ? ` ${U.step}` : ""}</h2><span class="end note">{here.spread.drawn ? `${U.step}, each by itself` : `${U.step}, adds in squares`}</span></div>
            {here.spread.rows.length ? (
              <table><tbody>{here.spread.rows.map((s) => (<tr key={s.title}><td>{s.path ? <Src path={s.path}>{s.title}</Src> : s.title}</td><td style="width:34%"><svg width="100%" height="9" aria-hidden="true"><rect width={`${(100 * s.half) / Math.max(...here.spread.rows.map((x) => x.half))}%`} height="9" fill="var(--edge)" /></svg></td><td class="num">± {fixed(s.half, 1)}</td></tr>))}</tbody></table>
            ) : <p class="note">Spreads are worked out in the background: every uncertain value is moved and all duties are solved again.</p>}
            {here.spread.drawn && <p class="note">Something switches within these values, so they do not add: the whole band is from draws of all of them at once.</p>}
            {here.spread.rows.length > 0 && !here.spread.own && <p class="note">Carried over from another variant; this one's own are being worked out.</p>}
          </section></div>)}
      </aside>
    </div>
  );
}

function useOthers(own: string, duty: string) {
  const [keys, set] = useState<string[]>([]);
  const [found, setFound] = useState<History[]>([]);
  const stamp = fresh.value;
  useEffect(() => {
    let live = true;
    void Promise.all(keys.filter((k) => k !== own).map((k) => get<{ history: History }>(`parts/${encodeURIComponent(k)}?short=true&duty=${duty}`).then((d) => d.history, () => null))).then((all) => live && setFound(all.filter((h): h is History => h !== null)));
    return () => { live = false; };
  }, [keys.join(), duty, own, stamp]);
  return { keys, found, add: (k: string) => set([...keys, k].slice(-3)), clear: () => set([]), swap: (i: number, k: string) => set(keys.map((x, j) => (j === i ? k : x))) };
}

function Ledger({ p }: { p: Part }) {
  void ramp.value; void theme.value;
  const l = p.ledger;
  const [ref, width] = useWidth();
  const W = Math.max(width, 420), name = 196, right = 176, x0 = name, x1 = W - right, rowH = 24, H = 28 + (l.rows.length + 2) * rowH;
  const all = [l.ambient, l.limit, l.temperature + (l.half ?? 0)];
  let run = l.ambient;
  const steps = l.rows.map((r) => { const from = run; run += r.rise; all.push(run); return { ...r, from, to: run }; });
  const low = Math.min(...all) - 4, high = Math.max(...all) * 1.02 + 4;
  const x = (T: number) => x0 + ((T - low) / (high - low)) * (x1 - x0);
  const y = (k: number) => 28 + k * rowH;
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label={`Staircase from ambient ${fixed(l.ambient, 1)} ${U.degree} to ${fixed(l.temperature, 1)} ${U.degree}`}>
        {ticks(low, high, 5).map((k) => (<g key={k}><line class="grid" x1={x(k)} x2={x(k)} y1="20" y2={H - 4} /><text class="cap" x={x(k)} y="14" text-anchor="middle">{fixed(k)}</text></g>))}
        <text class="cap" x="0" y="14">Cause</text><text class="cap" x={W - 124} y="14" text-anchor="end">{U.step}</text><text class="cap" x={W - 72} y="14" text-anchor="end">share</text><text class="cap" x={W} y="14" text-anchor="end">saved, {U.step}</text>
        <line class="axis" x1="0" x2={W} y1="20" y2="20" />
        <text x="0" y={y(0) + 13} style="fill:var(--ink2)">Ambient in this duty</text><line x1={x(l.ambient)} x2={x(l.ambient)} y1={y(0) + 3} y2={y(1) + 5} stroke="var(--ink2)" stroke-width="2" /><text class="mid" x={x(l.ambient) + 6} y={y(0) + 13}>{fixed(l.ambient, 1)} {U.degree}</text>
        {steps.map((s, k) => {
          const a = Math.min(x(s.from), x(s.to)), b = Math.max(x(s.from), x(s.to)), Y = y(k + 1);
          return (<g key={s.cause}><line class="grid" x1="0" x2={W} y1={Y - 4} y2={Y - 4} /><text x="0" y={Y + 12}>{s.cause.length > 32 ? s.cause.slice(0, 31) + "…" : s.cause}</text>
            <rect x={a} y={Y + 1} width={Math.max(b - a, 1.2)} height="13" fill={heat(s.to, U.T(35), U.T(160))} stroke="var(--line2)" stroke-width={s.rise < 0 ? 1 : 0} /><line x1={x(s.to)} x2={x(s.to)} y1={Y + 1} y2={Y + rowH + 1} stroke="var(--ink3)" stroke-width="0.8" />
            <text x={W - 124} y={Y + 12} text-anchor="end" style="font-weight:500">{fixed(s.rise, 1)}</text><text class="mid" x={W - 72} y={Y + 12} text-anchor="end">{fixed(100 * s.share)} %</text><text class="mid" x={W} y={Y + 12} text-anchor="end" style={s.change && Math.abs(s.change) >= 0.05 ? "fill:var(--accent)" : ""}>{s.change === null ? "" : signed(s.change, 1)}</text></g>);
        })}
        {(() => { const Y = y(l.rows.length + 1); const c = `var(--${l.state})`, tip = x(l.temperature + (l.half ?? 0)), right_ = tip + 70 < x1, told = right_ ? tip + 6 : Math.min(x(l.limit), x(l.temperature - (l.half ?? 0))) - 6; return (<g><line class="axis" x1="0" x2={W} y1={Y - 4} y2={Y - 4} /><text x="0" y={Y + 12} style="font-weight:600">At that instant</text><rect x={x(l.ambient)} y={Y + 6} width={Math.max(0, (right_ ? x(l.temperature) : told - 62) - x(l.ambient))} height="3" fill={c} opacity="0.5" />{l.half !== null && <rect x={x(l.temperature - l.half)} y={Y + 1} width={x(l.temperature + l.half) - x(l.temperature - l.half)} height="13" fill={c} opacity="0.3" />}<rect x={x(l.temperature) - 1.7} y={Y} width="3.4" height="15" fill={c} />
          <text class="halo" x={told} y={Y + 12} text-anchor={right_ ? "start" : "end"} style={`fill:${c};font-weight:600`}>{fixed(l.temperature, 1)} {U.degree}</text><text x={W - 124} y={Y + 12} text-anchor="end" style="font-weight:600">{fixed(l.sum, 1)}</text><text class="mid" x={W - 72} y={Y + 12} text-anchor="end">100 %</text><text class="mid" x={W} y={Y + 12} text-anchor="end">{l.change === null ? "" : signed(l.change, 1)}</text></g>); })()}
        <line class="limit" x1={x(l.limit)} x2={x(l.limit)} y1="20" y2={H - 2} /><text class="halo" x={x(l.limit) - 5} y={y(0) + 13} text-anchor="end" style="font-weight:600;font-size:11px">limit {fixed(l.limit)}</text>
      </svg>
      <Twin shown={tables.value} caption="Ledger by cause" head={["Cause", U.step, "Share, %", `Against saved, ${U.step}`]} rows={l.rows.map((r) => [r.cause, fixed(r.rise, 1), fixed(100 * r.share), r.change === null ? "–" : signed(r.change, 1)])} />
    </figure>
  );
}

/** Heat by path: in to the right, out to the left of one line; beyond ten paths the small ones stand together. */
function ByPath({ p }: { p: Part }) {
  void ramp.value; void theme.value;
  const [ref, width] = useWidth();
  const rows = p.paths.rows, W = Math.max(width, 420), name = 250, right = 150, rowH = 24, H = 28 + rows.length * rowH;
  const top = Math.max(...rows.map((r) => r.heat), 0.001), bottom = Math.min(...rows.map((r) => r.heat), 0);
  const x = (q: number) => name + ((q - bottom) / (top - bottom || 1)) * (W - name - right);
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label="Heat into and out of the part by path">
        {ticks(bottom, top, 4).map((k) => (<g key={k}><line class={k ? "grid" : "axis"} x1={x(k)} x2={x(k)} y1="20" y2={H} /><text class="cap" x={x(k)} y="14" text-anchor="middle">{fixed(k, Math.max(-bottom, top) < 5 ? 1 : 0)}</text></g>))}
        <text class="cap" x="0" y="14">From (in, right of the line) or to (out, left of it)</text><text class="cap" x={W - 70} y="14" text-anchor="end">W</text><text class="cap" x={W} y="14" text-anchor="end">at, {U.degree}</text>
        {rows.map((r, k) => { const Y = 28 + k * rowH; return (<g key={k}><line class="grid" x1="0" x2={W} y1={Y - 4} y2={Y - 4} /><text x="0" y={Y + 12}>{r.from.length > 32 ? r.from.slice(0, 31) + "…" : r.from}{r.kind ? <tspan style="fill:var(--ink3)">{` ${r.kind}`}</tspan> : ""}</text><rect x={Math.min(x(0), x(r.heat))} y={Y + 1} width={Math.max(Math.abs(x(r.heat) - x(0)), 1)} height="13" fill={heat(r.temperature, U.T(35), U.T(160))} stroke="var(--line2)" /><text x={W - 70} y={Y + 12} text-anchor="end" style="font-weight:500">{signed(r.heat, 1)}</text><text class="mid" x={W} y={Y + 12} text-anchor="end">{fixed(r.temperature)}</text></g>); })}
      </svg>
    </figure>
  );
}

function Paths({ p }: { p: Part }) {
  void ramp.value; void theme.value;
  const W = 330, mid = 168, bar = 14;
  const ins = p.paths.rows.filter((r) => r.heat > 0).slice(0, 6), outs = p.paths.rows.filter((r) => r.heat <= 0).slice(0, 6);
  const total = Math.max(p.paths.in, p.paths.out, 0.01), room = 150;
  const words = (t: string) => { const w = t.replace(/^Air: /, "").split(" "); const lines = [""]; for (const x of w) { if ((lines.at(-1) + " " + x).length > 16 && lines.at(-1)) lines.push(x); else lines[lines.length - 1] = (lines.at(-1) + " " + x).trim(); } return lines.length > 2 ? [lines[0], lines[1].slice(0, 13) + "…"] : lines; };
  const place = (list: typeof ins, end: boolean) => {
    let inner = 0, outer = 0;
    return list.map((r) => { const h = Math.max((Math.abs(r.heat) / total) * room, 1.2), gapped = Math.max(h + 4, (words(r.from).length + 1) * 12 + 7); const o = { r, h, inner, outer: outer + (gapped - h) / 2, end }; inner += h; outer += gapped; return o; });
  };
  const left = place(ins, false), rightSide = place(outs, true);
  const tall = (l: typeof left) => l.reduce((s, o) => Math.max(s, o.outer + o.h + 14), 0);
  const H = Math.max(tall(left), tall(rightSide), room) + 22;
  const ribbon = (o: (typeof left)[number]) => {
    const y0 = o.outer + 18, y1 = o.inner + 18 + (o.end ? 0 : 0);
    const a = o.end ? mid + bar : 96, b = o.end ? W - 96 : mid;
    const ya = o.end ? y1 : y0, yb = o.end ? y0 : y1, c = (a + b) / 2;
    return `M${a} ${ya}C${c} ${ya} ${c} ${yb} ${b} ${yb}V${yb + o.h}C${c} ${yb + o.h} ${c} ${ya + o.h} ${a} ${ya + o.h}Z`;
  };
  return (
    <figure>
      <svg viewBox={`0 0 ${W} ${H}`} role="img" aria-label={`${fixed(p.paths.in, 1)} W in, ${fixed(p.paths.out, 1)} W out`}>
        {[...left, ...rightSide].map((o, k) => (<g key={k}><path d={ribbon(o)} fill={heat(o.end ? p.paths.temperature : o.r.temperature, U.T(35), U.T(160))} stroke="var(--line2)" stroke-width="0.5" />
          {words(o.r.from).map((w, i, a) => <text key={i} class="halo" x={o.end ? W - 90 : 90} y={o.outer + 18 + o.h / 2 + 4 + (i - a.length / 2) * 12} text-anchor={o.end ? "start" : "end"} style="font-size:11px">{w}</text>)}
          <text class="mid halo" x={o.end ? W - 90 : 90} y={o.outer + 18 + o.h / 2 + 4 + (words(o.r.from).length / 2) * 12} text-anchor={o.end ? "start" : "end"}>{fixed(Math.abs(o.r.heat), 1)} W</text></g>))}
        <rect x={mid} y="16" width={bar} height={Math.max((p.paths.in / total) * room, (p.paths.out / total) * room, 4) + 4} fill="var(--ink)" />
        <text x={mid + bar / 2} y="11" text-anchor="middle" style="font-weight:600">{wordIn(p.row.title).slice(0, 24)}</text>
      </svg>
      <Twin shown={tables.value} caption="Heat paths" head={["From or to", "W", U.degree]} rows={p.paths.rows.map((r) => [`${r.from}, ${r.kind}`, signed(r.heat, 1), fixed(r.temperature)])} />
    </figure>
  );
}
