import { U } from "../lib/units";
import { useMemo, useState } from "preact/hooks";
import { Air, AirLink, AirNode, query } from "../api";
import { heat } from "../lib/ramp";
import { along, broken, Label, LINE, place, Placed, Rect, round, wide } from "../lib/labels";
import { clock, fixed, ticks } from "../lib/text";
import { Src } from "../Source";
import { Empty, Scale, Seg, Twin, useData, useWidth } from "../parts";
import { fresh, margins, ramp, tables, theme } from "../state";

export function AirScreen() {
  const m = margins.value!;
  const [duty, setDuty] = useState(""), [time, setTime] = useState<number | null>(null);
  const { data: a, error } = useData<Air>(`air${query({ duty, time })}`, fresh.value);
  if (!a) return <Empty title="Not computed yet"><p>{error || "The way of the air is drawn as soon as the duties are solved."}</p></Empty>;
  const near = a.moments.find((x) => Math.abs(x.time - a.instant.time) < 2);
  return (
    <div class="cols s-air">
      <section aria-label="The way of the air">
        <div class="head"><h2>The way of the cooling air</h2><span class="note">nose at left; width is mass flow; {a.instant.words}</span>
          <span class="end"><select aria-label="Duty" value={a.duty.key} onChange={(e) => { setDuty((e.target as HTMLSelectElement).value); setTime(null); }}>{m.head.duties.map((d) => <option key={d.key} value={d.key}>{d.name}</option>)}</select>
            <Seg label="Moment" items={a.moments.map((x) => [x.label, x.label] as [string, string])} value={near?.label ?? ""} onPick={(label) => setTime(a.moments.find((x) => x.label === label)!.time)} /></span></div>
        <div class="head"><Scale {...a.scale} unit={U.degree} /><span class="legend" style="margin:0"><span><svg width="20" height="11" aria-hidden="true"><rect x=".5" y=".5" width="19" height="10" fill="url(#hatchgrey)" stroke="var(--ink2)" /></svg>gap</span><span><svg width="26" height="8" aria-hidden="true"><path d="M1 4h24" stroke="var(--over)" stroke-width="2.4" stroke-dasharray="5 3" /></svg>runs back</span></span>
          <span class="end note">in {a.balance.in}, out {a.balance.out}, to the engine {a.balance.engine}; closes to {a.balance.closes}</span></div>
        <Drawing a={a} />
        <label class="slider"><span>Time in {a.duty.name.toLowerCase()}</span><input type="range" min="0" max={a.duty.duration} step="1" value={a.instant.time} onInput={(e) => setTime(Number((e.target as HTMLInputElement).value))} /><output>{clock(a.instant.time)}</output></label>
        <p class="note" style="margin-top:8px">{a.ram}</p>
      </section>
      <aside class="side" aria-label="What the air does">
        <section><h2>What the air does</h2>
          <table><thead><tr><th /><th class="num" scope="col">{a.instant.time_text}</th><th class="num" scope="col">slowest</th></tr></thead><tbody>{Object.keys(a.facts[0]).map((k) => <tr key={k}><td>{k}</td><td class="num bold">{a.facts[0][k]}</td><td class="num">{a.facts[1][k]}</td></tr>)}</tbody></table></section>
        <section class="gap"><div class="head"><h2>Gaps</h2><span class="end note">{U.mass_flow}, − is back to front</span></div>
          <table><thead><tr><th /><th scope="col">Gap</th><th class="num" scope="col">area</th><th class="num" scope="col">now</th><th class="num" scope="col">slow</th></tr></thead><tbody>{a.gaps.map((g) => <tr key={g.name}><td class="bold">{g.letter}</td><td>{g.title}</td><td class="num"><Src path={g.path}>{g.area}</Src></td><td class={`num ${g.back[0] ? "over bold" : ""}`}>{g.now}</td><td class={`num ${g.back[1] ? "over bold" : ""}`}>{g.still}</td></tr>)}</tbody></table></section>
      </aside>
    </div>
  );
}

type Box = AirNode & { x: number; y: number; h: number };
type Way = AirLink & { w: number; a: Box; b: Box; ya: number; yb: number; back: boolean };

/** Columns from the program; heights in a column from true height, spread so that nothing overlaps. */
export function layout(a: Air, W: number, H: number): { boxes: Box[]; ways: Way[]; unit: number; columns: number } {
  const low = Math.min(...a.nodes.map((n) => n.column));
  const columns = Math.max(...a.nodes.map((n) => n.column)) - low;
  const flow = (id: string) => {
    let into = 0, out = 0;
    for (const l of a.links) { const f = Math.abs(l.flow); if ((l.flow >= 0 ? l.to : l.from) === id) into += f; if ((l.flow >= 0 ? l.from : l.to) === id) out += f; }
    return Math.max(into, out);
  };
  const byColumn = new Map<number, AirNode[]>();
  for (const n of a.nodes) byColumn.set(n.column - low, [...(byColumn.get(n.column - low) ?? []), n]);
  const gap = 40;
  let unit = U.us ? 120 / 132.3 : 120;
  for (const list of byColumn.values()) unit = Math.min(unit, (H - gap * (list.length + 1)) / Math.max(list.reduce((s, n) => s + flow(n.id), 0), U.us ? 6 : 0.05));
  const boxes: Box[] = [];
  const left = 118, right = 128;
  for (const [c, list] of byColumn) {
    const sorted = [...list].sort((p, q) => q.height - p.height);
    const tall = sorted.map((n) => Math.max(flow(n.id) * unit, 6));
    const free = H - tall.reduce((s, t) => s + t, 0);
    // True height decides where; then pushed apart, and back up if the column ran out at the bottom.
    let ys = sorted.map((n, k) => (1 - n.height / 0.95) * H - tall[k] / 2);
    const gaps = Math.min(gap, free / (list.length + 1));
    for (let k = 0; k < ys.length; k++) ys[k] = Math.max(ys[k], k ? ys[k - 1] + tall[k - 1] + gaps : 26);
    for (let k = ys.length - 1; k >= 0; k--) ys[k] = Math.min(ys[k], (k < ys.length - 1 ? ys[k + 1] - gaps : H - 4) - tall[k]);
    sorted.forEach((n, k) => boxes.push({ ...n, x: left + (c / Math.max(columns, 1)) * (W - left - right), y: ys[k], h: tall[k] }));
  }
  const at = new Map(boxes.map((b) => [b.id, b]));
  const ways: Way[] = a.links.map((l) => ({ ...l, w: Math.max(Math.abs(l.flow) * unit, 0.8), a: at.get(l.from)!, b: at.get(l.to)!, ya: 0, yb: 0, back: l.back }));
  const middle = (b: Box) => b.y + b.h / 2;
  for (const box of boxes) {
    let y = box.y;
    for (const w of ways.filter((w) => w.a === box && !w.back).sort((p, q) => middle(p.b) - middle(q.b))) { w.ya = y; y += w.w; }
    y = box.y;
    for (const w of ways.filter((w) => w.b === box && !w.back).sort((p, q) => middle(p.a) - middle(q.a))) { w.yb = y; y += w.w; }
  }
  return { boxes, ways, unit, columns };
}

function Drawing({ a }: { a: Air }) {
  void ramp.value; void theme.value;
  const [ref, width] = useWidth();
  const W = Math.max(width, 640), H = 400, P0 = H + 64, PH = 132;
  const { boxes, ways, unit } = useMemo(() => layout(a, W, H), [a, W]);
  const colour = (T: number) => heat(T, a.scale.low, a.scale.high);
  const bw = 9;
  const shape = (w: Way) => {
    const x0 = w.a.x + bw, x1 = w.b.x, c = Math.max(Math.abs(x1 - x0) * 0.5, 24) * (x1 >= x0 ? 1 : 1);
    return `M${x0} ${w.ya}C${x0 + c} ${w.ya} ${x1 - c} ${w.yb} ${x1} ${w.yb}V${w.yb + w.w}C${x1 - c} ${w.yb + w.w} ${x0 + c} ${w.ya + w.w} ${x0} ${w.ya + w.w}Z`;
  };
  const line = (w: Way) => { const x0 = w.a.x + bw, x1 = w.b.x, y0 = w.a.y + w.a.h / 2, y1 = w.b.y + w.b.h / 2, c = Math.max(Math.abs(x1 - x0) * 0.5, 24); return `M${x1} ${y1}C${x1 - c} ${y1} ${x0 + c} ${y0} ${x0} ${y0}`; };
  const pressures = boxes.filter((b) => b.pressure !== null) as (Box & { pressure: number })[];
  const pl = Math.min(0, ...pressures.map((b) => b.pressure)), ph = Math.max(U.us ? 0.1 : 1, ...pressures.map((b) => b.pressure));
  const py = (p: number) => P0 + ((ph - p) / (ph - pl)) * PH;
  const main = ways.filter((w) => !w.back && w.kind !== "draw").sort((p, q) => q.w - p.w);
  const labelled = new Set(main.slice(0, 9).map((w) => w.name));
  const cores = ways.filter((w) => w.core && !w.back), zones = boxes.filter((b) => b.kind === "zone");
  const degrees = (b: Box) => `${fixed(b.temperature)} ${U.degree}`;
  const plate = (b: Box): Rect => { const w = degrees(b).length * 7 + 10; return { x: b.x + bw / 2 - w / 2, y: b.y + b.h / 2 - 9, w, h: 18 }; };
  const mark = (w: Way): Rect => ({ x: (w.a.x + bw + w.b.x) / 2 - 8, y: (w.ya + w.yb + w.w) / 2 - 5, w: 16, h: 10 });
  const told = useMemo(() => labels(), [a, W, U.degree]);
  function labels(): (Placed & { style?: string; end?: boolean; all?: boolean })[] {
    const found: (Label & { style?: string; end?: boolean; all?: boolean })[] = [];
    for (const b of boxes.filter((b) => b.kind !== "zone")) {
      const flow = b.kind === "engine" ? `Engine ${ways.find((w) => w.b === b)?.flow_text}` : `${sum(ways, b)} ${U.mass_flow}${back(ways, b) ? " back" : ""}`;
      const lines = b.kind === "engine" ? [flow] : [...broken(b.title, 18), flow], w = wide(lines), h = lines.length * LINE, y = b.y + b.h / 2 - h / 2;
      const right: [number, number] = [b.x + bw + 6, y], left: [number, number] = [b.x - 6 - w, y], above: [number, number] = [b.x + bw / 2 - w / 2, b.y - h - 3], below: [number, number] = [b.x + bw / 2 - w / 2, b.y + b.h + 3];
      found.push({ key: b.id, lines, at: b.kind === "mouth" ? [left, above, below] : [right, above, [b.x + bw + 6, y - 14], below, [b.x + bw + 6, y + 14], left], end: b.kind === "mouth", style: b.kind === "engine" ? "" : back(ways, b) ? "fill:var(--over)" : "fill:var(--ink2)" });
    }
    for (const b of zones) {
      const lines = broken(b.title, 15), w = wide(lines), h = lines.length * LINE, x = b.x + bw / 2 - w / 2;
      found.push({ key: b.id, lines, at: [[x, b.y - h - 3], [x, b.y + b.h + 3], [x, b.y - h - 16], [x - w / 2 - 8, b.y - h - 3], [x + w / 2 + 8, b.y - h - 3], [x, b.y + b.h + 16]], style: "fill:var(--ink2)", all: true });
    }
    for (const w of cores) {
      const x = (w.a.x + bw + w.b.x) / 2, y = (w.ya + w.yb) / 2, lines = [w.core_title, w.heat_text], wd = wide(lines);
      found.push({ key: `core ${w.name}`, lines, at: [[x - wd / 2, y - 30], [x - wd / 2, y + w.w + 6], [x + 9, y + w.w / 2 - 12], [x - wd - 9, y + w.w / 2 - 12], [x - wd / 2, y - 44], [x - wd / 2, y + w.w + 20]] });
    }
    for (const w of ways.filter((w) => w.letter)) {
      const m = w.back ? { x: (w.a.x + bw + w.b.x) / 2 - 8, y: (w.a.y + w.a.h / 2 + w.b.y + w.b.h / 2) / 2 - 5, w: 16, h: 10 } : mark(w);
      const lines = [w.back ? `${w.letter} back` : `${w.letter} ${labelled.has(w.name) ? w.flow_text : ""}`.trim()], wd = wide(lines);
      found.push({ key: `gap ${w.name}`, lines, at: [[m.x + 19, m.y - 1], [m.x - wd - 3, m.y - 1], [m.x + 8 - wd / 2, m.y - 14], [m.x + 8 - wd / 2, m.y + 13], [m.x + 19, m.y - 14]], style: `font-weight:600${w.back ? ";fill:var(--over)" : ""}`, all: true });
    }
    const bars = boxes.map((b): Rect => ({ x: b.x, y: b.y, w: bw, h: b.h })), marks = ways.filter((w) => w.letter && !w.back).map(mark);
    const grids = cores.map((w): Rect => ({ x: (w.a.x + bw + w.b.x) / 2 - 5, y: (w.ya + w.yb) / 2 - 3, w: 10, h: w.w + 6 }));
    const at = new Map(place(found, [...bars, ...zones.map(plate), ...marks, ...grids], { x: 0, y: 0, w: W, h: H }).map((p) => [p.key, p]));
    return found.map((l) => ({ ...l, ...at.get(l.key)! }));
  }
  const named = useMemo(() => {
    const joined = ways.filter((w) => w.a.pressure !== null && w.b.pressure !== null);
    const lines = joined.flatMap((w) => { const x0 = w.a.x + bw / 2, y0 = py(w.a.pressure!), x1 = w.b.x + bw / 2, y1 = py(w.b.pressure!); return along((t) => [x0 + (x1 - x0) * t, y0 + (y1 - y0) * t], 2, 0.7); });
    const asked = pressures.filter((b) => b.kind !== "outlet").map((b) => { const t = `${b.title} ${fixed(b.pressure, U.us ? 1 : 0)}`, p: [number, number] = [b.x + bw / 2, py(b.pressure)]; return { key: b.id, lines: [t], at: round(p, wide([t]), LINE, 7, 6), p }; });
    return place(asked, [...pressures.map((b) => ({ x: b.x + bw / 2 - 4, y: py(b.pressure) - 4, w: 8, h: 8, bad: 3 })), ...lines], { x: 44, y: P0 - 12, w: W - 44, h: PH + 34 }) as (Placed & { p: [number, number] })[];
  }, [a, W, U.us]);
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${P0 + PH + 22}`} height={P0 + PH + 22} role="img" aria-label="Flow drawing of the cooling air, pressure under it">
        <defs>{cores.map((w) => <linearGradient key={w.name} id={`g-${w.name}`}><stop offset="0.5" stop-color={colour(w.temperature)} /><stop offset="0.62" stop-color={colour(w.after)} /></linearGradient>)}
          <marker id="arrow" viewBox="0 0 8 8" refX="6" refY="4" markerWidth="7" markerHeight="7" markerUnits="userSpaceOnUse" orient="auto"><path d="M0 0l8 4-8 4z" fill="var(--over)" /></marker></defs>
        {ways.filter((w) => !w.back).sort((p, q) => q.w - p.w).map((w) => (
          <g key={w.name}><path d={shape(w)} fill={w.core ? `url(#g-${w.name})` : colour(w.temperature)} stroke="var(--page)" stroke-width="0.8"><title>{`${w.title}: ${w.flow_text} ${U.mass_flow} at ${fixed(w.after)} ${U.degree}`}</title></path></g>))}
        {ways.filter((w) => w.back).map((w) => (<path key={w.name} d={line(w)} fill="none" stroke="var(--over)" stroke-width={Math.min(Math.max(w.w, 1.6), 7)} stroke-dasharray="6 4" marker-end="url(#arrow)"><title>{`${w.title}: ${w.flow_text} ${U.mass_flow}, back`}</title></path>))}
        {cores.map((w) => { const x = (w.a.x + bw + w.b.x) / 2, y = (w.ya + w.yb) / 2; return (<g key={w.name}><rect x={x - 5} y={y - 3} width="10" height={w.w + 6} fill="var(--panel)" stroke="var(--ink)" stroke-width="1.3" />{ticks(y, y + w.w, Math.max(2, w.w / 9)).map((k) => <line key={k} x1={x - 3} x2={x + 3} y1={k} y2={k} stroke="var(--ink3)" stroke-width="0.8" />)}</g>); })}
        {boxes.map((b) => <rect key={b.id} x={b.x} y={b.y} width={bw} height={b.h} rx="1.5" fill={b.kind === "mouth" ? colour(a.duty.ambient) : "var(--ink)"} opacity={b.kind === "mouth" ? 1 : 0.82}><title>{b.title}</title></rect>)}
        {ways.filter((w) => w.letter && !w.back).map((w) => { const m = mark(w); return <rect key={w.name} x={m.x} y={m.y} width={m.w} height={m.h} fill="url(#hatchgrey)" stroke="var(--ink2)" />; })}
        {zones.map((b) => { const p = plate(b); return <g key={b.id}><rect x={p.x} y={p.y} width={p.w} height={p.h} rx="4" fill="var(--panel)" opacity="0.95" /><text x={p.x + p.w / 2} y={p.y + 13} text-anchor="middle" style="font-weight:600">{degrees(b)}</text></g>; })}
        {told.map((l) => <g key={l.key}>{l.lines.map((t, k) => <text key={k} class="halo" x={l.x + (l.end ? l.w : 0)} y={l.y + 10 + k * LINE} text-anchor={l.end ? "end" : "start"} style={`font-size:11px;${l.style && (k === l.lines.length - 1 || l.all) ? l.style : ""}`}>{t}</text>)}</g>)}
        <text class="cap" x="0" y={H + 18}>{U.us ? 10 : 0.1} {U.mass_flow} is {fixed(unit * (U.us ? 10 : 0.1), 1)} px wide</text>
        <text x="0" y={P0 - 20} style="font-size:14px;font-weight:600">Pressure on the same way</text><text class="cap" x={W} y={P0 - 20} text-anchor="end">{U.air_pressure} above still air; x follows the drawing</text>
        {ticks(pl, ph, 4).map((k) => (<g key={k}><line class={k ? "grid" : "axis"} x1="44" x2={W - 8} y1={py(k)} y2={py(k)} /><text class="cap" x="38" y={py(k) + 4} text-anchor="end">{fixed(k, ph - pl < 4 ? 1 : 0)}</text></g>))}
        {ways.filter((w) => w.a.pressure !== null && w.b.pressure !== null).map((w) => <line key={w.name} x1={w.a.x + bw / 2} y1={py(w.a.pressure!)} x2={w.b.x + bw / 2} y2={py(w.b.pressure!)} stroke={w.kind === "gap" ? "var(--ink2)" : "var(--accent)"} stroke-width={w.kind === "gap" ? 1 : Math.min(2.6, 0.8 + w.w / 30)} stroke-dasharray={w.kind === "gap" ? "4 3" : ""} />)}
        {pressures.map((b) => <circle key={b.id} cx={b.x + bw / 2} cy={py(b.pressure)} r="2.8" fill="var(--page)" stroke="var(--accent)" stroke-width="1.6"><title>{`${b.title}: ${fixed(b.pressure, U.us ? 2 : 0)} ${U.air_pressure}`}</title></circle>)}
        {named.map((l) => { const p = l.p, end = [Math.max(l.x, Math.min(p[0], l.x + l.w)), Math.max(l.y + 3, Math.min(p[1], l.y + 10))], far = Math.hypot(end[0] - p[0], end[1] - p[1]); return (<g key={l.key}>{far > 13 && <line x1={p[0] + ((end[0] - p[0]) * 4) / far} y1={p[1] + ((end[1] - p[1]) * 4) / far} x2={end[0]} y2={end[1]} stroke="var(--ink3)" stroke-width="0.8" />}<text class="mid halo" x={l.x} y={l.y + 10}>{l.lines[0]}</text></g>); })}
      </svg>
      <Twin shown={tables.value} caption="Air flows" head={["Passage", U.mass_flow, `${U.degree} in`, `${U.degree} out`]} rows={a.links.map((l) => [l.title, l.flow_text, fixed(l.temperature), fixed(l.after)])} />
    </figure>
  );
}

const sum = (ways: Way[], b: Box) => fixed(Math.abs(ways.filter((w) => w.a === b || w.b === b).reduce((s, w) => s + w.flow, 0)), U.us ? 1 : 2);
const back = (ways: Way[], b: Box) => ways.some((w) => (w.a === b || w.b === b) && w.back);
