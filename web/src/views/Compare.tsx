import { Column, State } from "../api";
import { fixed, signed, ticks } from "../lib/text";
import { Empty, Mark, useData, useWidth } from "../parts";
import { fit, fresh, go, margins } from "../state";
import { useState } from "preact/hooks";
import { Seg } from "../parts";

type Data = { columns: Column[]; parts: { part: string; title: string }[]; tried: number; measures: number; has_spread: boolean };

export function CompareScreen() {
  const m = margins.value!;
  const { data: d, error } = useData<Data>("compare", `${fresh.value} ${Object.keys(m.gains).length}`);
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
      <div class="head"><h2>Variants side by side</h2><span class="note">margin in K, worst of {m.head.duties.length} duties; only thin and over are marked; {d.tried} of {d.measures} measures tried, one at a time, from the variant as it is now</span><span class="end"><Seg label="Figures" items={[["margin", "Margin"], ["change", "Change against now"]]} value={show} onPick={setShow} /></span></div>
      {!d.has_spread && <p class="note">States say nothing of confidence until spreads are worked out.</p>}
      <div class="scroll" tabIndex={0} role="group" aria-label="Table, scrolls" style="margin-top:6px">
        <table class="matrix">
          <thead><tr><th scope="col" /> {d.columns.map((c) => <th scope="col" key={c.title} class={c === now ? "now" : ""}><b style="color:var(--ink)">{c.title}</b><br />{c.note}</th>)}</tr></thead>
          <tbody>
            <tr><th scope="row">Verdict</th>{d.columns.map((c) => <td key={c.title} class={`bold ${c.state} ${c === now ? "now" : ""}`}><Mark state={c.state} /> {c.verdict}</td>)}</tr>
            {(["cost", "mass", "labour", "power"] as const).map((k) => <tr key={k}><th scope="row">{{ cost: "Kit cost", mass: "Kit mass, kg", labour: "Fitting", power: "Power, kW" }[k]}</th>{d.columns.map((c) => <td key={c.title} class={c === now ? "now" : ""}>{c[k]}</td>)}</tr>)}
            <tr><th scope="row"><span class="hidden">Fit or leave out</span></th>{d.columns.map((c) => <td key={c.title} class={c === now ? "now" : ""}>{c.measure && <button type="button" class="btn" aria-label={`${c.fits ? "Fit" : "Leave out"} ${c.title}`} onClick={() => void fit(c.measure!, c.fits!)}>{c.fits ? "Fit" : "Leave out"}</button>}</td>)}</tr>
            {d.parts.map((p) => <tr key={p.part}><th scope="row"><button type="button" class="link" style="padding:0;min-height:16px;font-weight:400;color:var(--ink)" onClick={() => go("part", p.part)}>{p.title}</button></th>{d.columns.map((c) => cell(c, p.part))}</tr>)}
          </tbody>
        </table>
      </div>
      <div class="head gap"><h2>Every variant tried</h2><span class="note">up: K left of the worst part; right: kit cost</span></div>
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
      {d.columns.map((c) => <g key={c.title}><circle cx={x(cost(c))} cy={y(c.worst)} r={c === now ? 6 : 4} fill={c === now ? "var(--accent)" : "var(--page)"} stroke={c === now ? "var(--accent)" : `var(--${c.state})`} stroke-width="1.6"><title>{`${c.title}: ${c.cost}, worst ${fixed(c.worst)} K`}</title></circle></g>)}
      <text class="halo" x={x(cost(now)) + 10} y={y(now.worst) + 4} style="font-weight:600">Now</text>
    </svg></figure>
  );
}
