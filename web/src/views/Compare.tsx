import { U } from "../lib/units";
import { Column, remove, State } from "../api";
import { JobLine, useJobs } from "../jobs";
import { fixed, signed, ticks } from "../lib/text";
import { Empty, Mark, useData, useWidth } from "../parts";
import { useState } from "preact/hooks";
import { act, fit, fresh, go, load, margins } from "../state";
import { Seg } from "../parts";

type Data = { columns: Column[]; parts: { part: string; title: string }[]; tried: number; measures: number; has_spread: boolean; kept: Kept[] };
type Kept = { name: string; fitted: number; edits: number; differs: number; solved: boolean; unsolved: boolean; against: boolean };

type Item = { name: string; title: string; cost: string; mass: string; labour: string };
type Set_ = { fit: Item[]; leave: Item[]; cost: string; mass: string; labour: string; holds: boolean; left: string };
type Found = { holds: boolean; proved: string; sets: Set_[]; closest: Set_; runs: string };
type Rated = { cells: { level: string; power: string; use: string; ambient: string; part: string }[] };

/** Searches: the cheapest set that holds, and how hot a day the set stands. They run beside everything else. */
function Searches() {
  const m = margins.value!;
  const [by, setBy] = useState<"cost" | "mass" | "labour">("cost");
  const { running, bad, begin, stop, last } = useJobs();
  const chosen = last<Found>("choose"), rated = last<Rated>("rating");
  const old = (j: { version: number; state: string }) => j.state === "done" && j.version !== m.head.version && <p class="note">For the state before your last edit.</p>;
  return (
    <div class="cols gap" style="grid-template-columns:repeat(auto-fit,minmax(420px,1fr))">
      <section aria-label="Cheapest set that holds"><div class="head"><h2>Cheapest set that holds</h2><span class="end"><span class="note">count</span><Seg label="Count" items={[["cost", m.measures.currency], ["mass", U.mass], ["labour", "min"]]} value={by} onPick={setBy} /><button type="button" class="btn main" disabled={running} onClick={() => void begin({ kind: "choose", by })}>Find it</button></span></div>
        {bad && <p class="over" role="alert">{bad}</p>}
        {!chosen && <p class="note">Searches all sets of measures that may stand together, each in every duty, with its spread. Takes minutes; the page stays usable.</p>}
        <JobLine job={chosen} stop={stop} />{chosen && old(chosen)}
        {chosen?.result && <><p class="note">{chosen.result.proved}; {chosen.result.runs}.</p>{(chosen.result.sets.length ? chosen.result.sets : [chosen.result.closest]).map((s, k) => (
          <div key={k} style={`border:${k ? 1 : 2}px solid var(${k ? "--line2" : "--accent"});border-radius:6px;padding:10px 14px;margin-top:8px`}><div class="head"><b>{s.holds ? (k ? `Next ${k}` : "Cheapest") : "Closest"}</b><span class={`bold ${s.holds ? "holds" : "over"}`}>{s.holds ? "holds" : "does not hold"}</span><span class="end"><button type="button" class={`btn ${k ? "" : "main"}`} onClick={() => void act("edit", { fit: s.fit.map((x) => x.name), leave: s.leave.map((x) => x.name) })}>Fit this set</button></span></div>
            <table><tbody>{s.fit.map((x) => <tr key={x.name}><td class="gain bold">+</td><td>{x.title}</td><td class="num">{x.cost}</td><td class="num">{x.mass}</td><td class="num">{x.labour} min</td></tr>)}{s.leave.map((x) => <tr key={x.name}><td class="gain bold">−</td><td>{x.title}</td><td class="num">{x.cost}</td><td class="num">{x.mass}</td><td class="num">{x.labour} min</td></tr>)}</tbody></table>
            <p style="margin-top:6px"><b>{s.cost}</b> &nbsp; <b>{s.mass}</b> &nbsp; <b>{s.labour}</b> <span class="note">{s.left}</span></p></div>))}</>}
      </section>
      <section aria-label="How hot a day it stands"><div class="head"><h2>How hot a day it stands</h2><span class="end"><button type="button" class="btn" disabled={running} onClick={() => void begin({ kind: "rating" })}>Work it out</button></span></div>
        {!rated && <p class="note">The highest ambient at which every limit still holds, by use and boost. Spreads are left out here; the command line can take them in (heatproof rating).</p>}
        <JobLine job={rated} stop={stop} />{rated && old(rated)}
        {rated?.result && <table><thead><tr><th scope="col">Use</th><th scope="col">Boost</th><th scope="col" class="num">Power</th><th scope="col" class="num">Holds up to</th><th scope="col">First to go</th></tr></thead><tbody>{rated.result.cells.map((c, k) => <tr key={k}><td>{c.use}</td><td>{c.level}</td><td class="num">{c.power}</td><td class="num bold">{c.ambient}</td><td>{c.part}</td></tr>)}</tbody></table>}
      </section>
    </div>
  );
}

/** Variants kept by name: to compare with, or to take up again. */
function KeptOnes({ kept, again }: { kept: Kept[]; again: () => void }) {
  const m = margins.value!;
  const [name, set] = useState("");
  const keep = async () => { if (name.trim() && (await act("variants", { name: name.trim() }))) { set(""); again(); } };
  const what = (k: Kept) => [`${k.fitted} measures`, k.edits && `${k.edits} ${k.edits === 1 ? "value" : "values"} changed`, k.differs ? `${k.differs} ${k.differs === 1 ? "difference" : "differences"} from now` : "the same as now"].filter(Boolean).join(", ");
  return (
    <section class="gap" aria-label="Kept variants"><div class="head"><h2>Kept variants</h2><span class="note">compared with on every screen when chosen</span><span class="end"><input type="text" aria-label="Name for the variant as it is now" placeholder="Name for the variant now" maxLength={60} value={name} onInput={(e) => set((e.target as HTMLInputElement).value)} onKeyDown={(e) => e.key === "Enter" && void keep()} /><button type="button" class="btn" disabled={!name.trim()} onClick={() => void keep()}>Keep it</button></span></div>
      {kept.length ? <table><tbody>{kept.map((k) => <tr key={k.name}><td class="bold">{k.name}</td><td>{what(k)}{k.unsolved && <span class="over"> could not be solved</span>}</td><td class="num"><button type="button" class="btn" aria-pressed={k.against} onClick={() => void act("against", { name: k.against ? "" : k.name })}>{k.against ? "Compared with ✓" : "Compare with"}</button> <button type="button" class="btn" disabled={!k.differs} onClick={() => void act("take", { name: k.name })}>Take up</button> <button type="button" class="btn" onClick={() => void remove(`variants/${encodeURIComponent(k.name)}`).then(async () => { await load(); again(); })}>Forget</button></td></tr>)}</tbody></table>
        : <p class="note">None yet. Keep the variant as it is now under a name, go on working, and see every margin against it.</p>}
      {m.head.against.name && <p class="note">Hollow circles, changes and the ledger's last column are against {m.head.against.name}.</p>}</section>
  );
}

export function CompareScreen() {
  const m = margins.value!;
  const [stamp, again] = useState(0);
  const { data: d, error } = useData<Data>("compare", `${fresh.value} ${Object.keys(m.gains).length} ${stamp} ${m.head.version} ${m.head.against.name} ${m.head.answer}`);
  const [show, setShow] = useState<"margin" | "change">("margin");
  if (!d || !d.columns.length) return <Empty title="Nothing to compare yet"><p>{error || "As soon as the duties are solved, every measure is tried alone and stands here as a column."}</p></Empty>;
  const now = d.columns.find((c) => c.title === "Now") ?? d.columns[0];
  const cell = (c: Column, part: string) => {
    const x = c.margins[part];
    if (!x) return <td key={c.title}>–</td>;
    const change = now.margins[part] ? x.margin - now.margins[part].margin : 0;
    return <td key={c.title} class={`${x.state} ${c === now ? "now" : ""}`}>{x.state !== "holds" && show === "margin" && <Mark state={x.state as State} />} {show === "margin" || c === now ? x.text : Math.abs(change) < 0.5 ? "0" : signed(change)}</td>;
  };
  return (
    <section aria-label="Variants side by side">
      <div class="head"><h2>Variants side by side</h2><span class="note">margin in {U.step}, worst of {m.head.duties.length} duties; only thin and over are marked; {d.tried} of {d.measures} measures tried, one at a time, from the variant as it is now</span><span class="end"><Seg label="Figures" items={[["margin", "Margin"], ["change", "Change against now"]]} value={show} onPick={setShow} /></span></div>
      {!d.has_spread && <p class="note">States say nothing of confidence until spreads are worked out.</p>}
      <div class="scroll matrixbox" tabIndex={0} role="group" aria-label="Table, scrolls" style="margin-top:6px">
        <table class="matrix">
          <thead><tr><th scope="col" /> {d.columns.map((c) => <th scope="col" key={c.title} class={c === now ? "now" : ""}><b style="color:var(--ink)">{c.title}</b><br />{c.note}</th>)}</tr></thead>
          <tbody>
            <tr><th scope="row">Verdict</th>{d.columns.map((c) => <td key={c.title} class={`bold ${c.state} ${c === now ? "now" : ""}`}><Mark state={c.state} /> {c.verdict}</td>)}</tr>
            {(["cost", "mass", "labour", "power"] as const).map((k) => <tr key={k}><th scope="row">{{ cost: "Kit cost", mass: `Kit mass, ${U.mass}`, labour: "Fitting", power: `Power, ${U.power}` }[k]}</th>{d.columns.map((c) => <td key={c.title} class={c === now ? "now" : ""}>{c[k]}</td>)}</tr>)}
            <tr><th scope="row"><span class="hidden">Fit or leave out</span></th>{d.columns.map((c) => <td key={c.title} class={c === now ? "now" : ""}>{c.measure && <button type="button" class="btn" aria-label={`${c.fits ? "Fit" : "Leave out"} ${c.title}`} onClick={() => void fit(c.measure!, c.fits!)}>{c.fits ? "Fit" : "Leave out"}</button>}</td>)}</tr>
            {d.parts.map((p) => <tr key={p.part}><th scope="row"><button type="button" class="link" style="padding:0;min-height:16px;font-weight:400;color:var(--ink)" onClick={() => go("part", p.part)}>{p.title}</button></th>{d.columns.map((c) => cell(c, p.part))}</tr>)}
          </tbody>
        </table>
      </div>
      <KeptOnes kept={d.kept} again={() => again((n) => n + 1)} />
      <Searches />
      <div class="head gap"><h2>Every variant tried</h2><span class="note">up: {U.step} left of the worst part; right: kit cost</span></div>
      <Scatter d={d} now={now} />
    </section>
  );
}

function Scatter({ d, now }: { d: Data; now: Column }) {
  const [ref, width] = useWidth();
  const W = Math.max(width, 400), H = 260, L = 48, R = 20, T = 12, B = 34;
  const cost = (c: Column) => Number(c.cost.replace(/[^0-9−-]/g, "").replace("−", "-"));
  const cs = d.columns.map(cost), ws = d.columns.map((c) => c.worst);
  const c0 = Math.min(...cs) - 20, c1 = Math.max(...cs) + 40, w0 = Math.min(...ws, 0) - 5, w1 = Math.max(...ws, 0) + 8;
  const x = (v: number) => L + ((v - c0) / (c1 - c0)) * (W - L - R), y = (v: number) => T + ((w1 - v) / (w1 - w0)) * (H - T - B);
  return (
    <figure ref={ref}><svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label="Cost of every variant tried against the margin of its worst part">
      <rect x={L} y={y(0)} width={W - L - R} height={H - B - y(0)} fill="var(--overwash)" opacity="0.6" /><line class="limit" x1={L} x2={W - R} y1={y(0)} y2={y(0)} />
      {ticks(w0, w1, 5).map((k) => <g key={k}><line class="grid" x1={L} x2={W - R} y1={y(k)} y2={y(k)} /><text class="cap" x={L - 6} y={y(k) + 4} text-anchor="end">{signed(k)}</text></g>)}
      {ticks(c0, c1, 6).map((k) => <text key={k} class="cap" x={x(k)} y={H - 18} text-anchor="middle">{fixed(k)}</text>)}<text class="cap" x={L} y={H - 3}>kit cost, {now.cost.replace(/[0-9\s−\u2009]/g, "")}</text>
      {d.columns.map((c) => <g key={c.title}><circle cx={x(cost(c))} cy={y(c.worst)} r={c === now ? 6 : 4} fill={c === now ? "var(--accent)" : "var(--page)"} stroke={c === now ? "var(--accent)" : `var(--${c.state})`} stroke-width="1.6"><title>{`${c.title}: ${c.cost}, worst ${fixed(c.worst)} ${U.step}`}</title></circle></g>)}
      <text class="halo" x={x(cost(now)) + 10} y={y(now.worst) + 4} style="font-weight:600">Now</text>
    </svg></figure>
  );
}
