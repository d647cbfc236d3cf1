import { U } from "../lib/units";
import { useMemo, useState } from "preact/hooks";
import { Liquids, Loop, LoopNode, query } from "../api";
import { along, broken, Label, LINE, place, Placed, Rect, round, wide as broad } from "../lib/labels";
import { heat } from "../lib/ramp";
import { clock, fixed, signed, ticks } from "../lib/text";
import { Empty, Mark, Scale, Twin, useData, useWidth } from "../parts";
import { fresh, go, margins, ramp, tables, theme } from "../state";

export function LiquidsScreen() {
  const m = margins.value!;
  const [duty, setDuty] = useState(""), [time, setTime] = useState<number | null>(null), [after, setAfter] = useState<number | null>(null);
  const { data: d, error } = useData<Liquids>(`liquids${query({ duty, time, after })}`, fresh.value);
  if (!d) return <Empty title="Not computed yet"><p>{error || "The loops are drawn as soon as the duties are solved."}</p></Empty>;
  const soak = d.duty.duration - d.duty.key_off > 2;
  return (
    <div class="cols s-liquids">
      <section aria-label="Water and oil">
        <div class="head"><h2>Water</h2><span class="note">heights to scale; width is flow, one scale for both pictures; dashed is still; × in a pump: it stands; +K is left before it boils</span><span class="end"><Scale {...d.scales.coolant} /><select aria-label="Duty" value={d.duty.key} onChange={(e) => { setDuty((e.target as HTMLSelectElement).value); setTime(null); setAfter(null); }}>{m.head.duties.map((x) => <option key={x.key} value={x.key}>{x.name}</option>)}</select></span></div>
        {[0, 1].map((k) => (
          <div key={k} style="margin-top:6px">
            <div class="head"><h3 style="font-size:13px">{k === 0 ? "First picture" : soak ? "After key-off" : "Second picture"}</h3><span class="note">{d.instants[k].words}; {d.pressure[k]}</span>
              <label class="slider end" style="width:300px"><span class="hidden">Time of the picture</span><input type="range" min="0" max={d.duty.duration} step="1" value={d.instants[k].time} onInput={(e) => (k ? setAfter : setTime)(Number((e.target as HTMLInputElement).value))} /><output>{clock(d.instants[k].time)}</output></label></div>
            <Drawing loop={d.coolant[k]} scale={d.scales.coolant} tall={250} most={widest(d.coolant)} label={`Water, ${d.instants[k].words}`} boil />
          </div>))}
        {d.further.map((c) => (
          <div key={c.name}>
            <div class="head gap"><h2>{c.title}</h2><span class="note">same two instants; {c.pressure[0]}, then {c.pressure[1]}</span><span class="end"><Scale {...d.scales.further} /></span></div>
            <div class="cols" style="grid-template-columns:1fr 1fr">{[0, 1].map((k) => <Drawing key={k} loop={c.loops[k]} scale={d.scales.further} tall={190} most={widest(c.loops)} label={`${c.title}, ${d.instants[k].words}`} boil />)}</div>
          </div>))}
        <div class="head gap"><h2>Oil</h2><span class="note">same two instants; the way back must fall all the way to the sump</span><span class="end"><Scale {...d.scales.oil} /></span></div>
        <div class="cols" style="grid-template-columns:1fr 1fr">{[0, 1].map((k) => <Drawing key={k} loop={d.oil[k]} scale={d.scales.oil} tall={180} most={widest(d.oil)} label={`Oil, ${d.instants[k].words}`} />)}</div>
        <p class="note"><b>Never open a hot cap.</b> {d.about}</p>
      </section>
      <aside class="side" aria-label="Left before it boils">
        <section><div class="head"><h2>Left before it boils</h2><span class="end note">{U.degree}</span></div><p class="note">● {d.instants[0].time_text} &nbsp; ○ {d.instants[1].time_text} &nbsp; │ boils</p><Boil d={d} /></section>
        <section class="gap"><h2>Judged here</h2>{d.judged.map((r) => (<div key={r.part} style="padding:5px 0;border-bottom:1px solid var(--line)"><div class="head" style="min-height:20px"><button type="button" class="link" style="padding:0;min-height:18px" onClick={() => go("part", r.part)}>{r.title}</button><span class={`end bold ${r.state}`}><Mark state={r.state} /> {r.state} {r.margin_text} {r.half_text} {U.step}</span></div><small>{r.rule}; {r.duty_name.toLowerCase()}, {r.when}</small></div>))}</section>
      </aside>
    </div>
  );
}

/** Points in an order that keeps lines short: swaps tried until none helps. Points are few. */
export function ordered(loop: Loop): string[] {
  const ids = loop.nodes.map((n) => n.id);
  const cost = (o: string[]) => { const at = new Map(o.map((id, k) => [id, k])); return loop.lines.reduce((s, l) => s + Math.abs((at.get(l.from) ?? 0) - (at.get(l.to) ?? 0)) ** 1.5 * (1 + Math.min(Math.abs(l.flow), 30) / 30), 0); };
  let best = [...ids], c = cost(best);
  for (let round = 0; round < 6; round++) {
    let better = false;
    for (let i = 0; i < ids.length; i++) for (let j = 0; j < ids.length; j++) {
      if (i === j) continue;
      const t = [...best]; const [x] = t.splice(i, 1); t.splice(j, 0, x);
      const k = cost(t);
      if (k < c - 1e-9) { best = t; c = k; better = true; }
    }
    if (!better) break;
  }
  return best;
}

/** The largest flow at either instant: both drawings of a circuit have one scale of widths. */
const widest = (loops: Loop[]) => Math.max(...loops.flatMap((l) => l.lines.map((x) => Math.abs(x.flow))), 0.01);
/** Width of the drawn pipe, px; small flows keep a width that can be seen. */
export const pipe = (flow: number, most: number) => Math.max(1.6, (Math.abs(flow) / most) ** 0.6 * 12);

function Drawing({ loop, scale, tall, label, most, boil }: { loop: Loop; scale: { low: number; high: number }; tall: number; label: string; most: number; boil?: boolean }) {
  void ramp.value; void theme.value;
  const [ref, width] = useWidth();
  const names = loop.nodes.map((n) => n.id).join();
  const order = useMemo(() => ordered({ nodes: loop.nodes, lines: loop.lines.map((l) => ({ ...l, flow: 1 })) }), [names]);
  const W = Math.max(width, 360), L = 40, H = tall, T = 34, B = 18;
  const hs = loop.nodes.map((n) => n.height), low = Math.min(...hs), high = Math.max(...hs), span = Math.max(high - low, U.us ? 4 : 100);
  const y = (h: number) => T + ((high - h) / span) * (H - T - B - 16);
  const slot = (W - L - 104) / Math.max(order.length - 1, 1);
  const at = new Map(loop.nodes.map((n) => [n.id, { n, x: L + 46 + order.indexOf(n.id) * slot, y: y(n.height) }]));
  const wide = (f: number) => pipe(f, most);
  const seen = new Map<string, number>();
  const ways = loop.lines.map((l) => {
    const a = at.get(l.from)!, b = at.get(l.to)!;
    const pair = [l.from, l.to].sort().join();
    const nth = seen.get(pair) ?? 0;
    seen.set(pair, nth + 1);
    const far = Math.abs(a.x - b.x) / slot;
    const bow = (far > 1.5 || nth ? 1 : 0) * (16 + far * 6 + nth * 22) * (nth % 2 ? -1 : 1) * ((a.y + b.y) / 2 > H / 2 ? 1 : -1);
    const dx = (b.x - a.x) * 0.35;
    const c1 = [a.x + dx, a.y + bow], c2 = [b.x - dx, b.y + bow];
    const q = (t: number) => [0, 1].map((i) => (1 - t) ** 3 * [a.x, a.y][i] + 3 * (1 - t) ** 2 * t * c1[i] + 3 * (1 - t) * t * t * c2[i] + t ** 3 * [b.x, b.y][i]);
    return { l, q, d: `M${a.x} ${a.y}C${c1[0]} ${c1[1]} ${c2[0]} ${c2[1]} ${b.x} ${b.y}`, mid: q(0.5), dir: Math.atan2(q(0.55)[1] - q(0.45)[1], q(0.55)[0] - q(0.45)[0]) };
  });
  const told = useMemo(() => {
    const points = [...at.values()];
    const words = new Map(points.map(({ n }) => [n.id, [...broken(n.title, Math.max(12, Math.floor((slot * 1.15) / 6))), `${fixed(n.temperature)} ${U.degree}${boil && n.left !== null ? ` ${signed(n.left)}` : ""}`]]));
    const hoses = ways.filter((w) => w.l.kind === "hose"), lines = ways.flatMap((w) => along(w.q, w.l.moves ? wide(w.l.flow) : 2, 0.6));
    const heights: Rect[] = ticks(low, high, 3).map((k) => ({ x: L - 34, y: y(k) - 7, w: 32, h: 14, bad: 4 }));
    const marks: Rect[] = [...heights, ...points.map((p) => box(p.x, p.y, 9, 3)), ...ways.map((w) => box(w.mid[0], w.mid[1], w.l.kind === "hose" ? 6 : 10, w.l.kind === "hose" ? 1.5 : 3))];
    const asked: Label[] = [...points].sort((p, q) => p.y - q.y).map((p) => { const t = words.get(p.n.id)!; return { key: p.n.id, lines: t, at: round([p.x, p.y], broad(t), t.length * LINE, 9) }; });
    for (const w of [...ways].sort((p, q) => Math.abs(q.l.flow) - Math.abs(p.l.flow))) {
      const text = w.l.moves ? `${w.l.title} ${w.l.flow_text.replace("−", "")}` : `${w.l.title}, still`, thick = w.l.moves ? wide(w.l.flow) / 2 : 1;
      const near = hoses.includes(w) ? [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74] : [0.5, 0.4, 0.6];
      asked.push({ key: `line ${w.l.id}`, lines: [text], at: near.flatMap((t) => beside(w.q, t, thick + 4, broad([text]))), most: 420 });
    }
    return place(asked, [...marks, ...lines], { x: L - 34, y: 12, w: W - L + 34, h: H - 12 });
  }, [loop, W, H, U.degree]);
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label={label}>
        {ticks(low, high, 3).map((k) => (<g key={k}><line class="grid" x1={L} x2={W} y1={y(k)} y2={y(k)} /><text class="cap" x={L - 6} y={y(k) + 4} text-anchor="end">{fixed(k)}</text></g>))}
        <text class="cap" x="0" y="10">height, {U.height}</text>
        {[...ways].sort((p, q) => Math.abs(q.l.flow) - Math.abs(p.l.flow)).map(({ l, d, mid, dir }) => (<g key={l.id}>
          <path d={d} fill="none" stroke={heat(l.temperature, scale.low, scale.high)} stroke-width={l.moves ? wide(l.flow) : 2} stroke-dasharray={l.moves ? "" : "4 4"} stroke-linecap="round"><title>{`${l.title}: ${l.flow_text}, ${fixed(l.temperature)} ${U.degree}${l.driven === false ? "; the pump stands still" : ""}`}</title></path>
          {l.moves && <path d="M-4-4L4 0-4 4" transform={`translate(${mid[0]} ${mid[1]}) rotate(${((dir + (l.flow < 0 ? Math.PI : 0)) * 180) / Math.PI})`} fill="none" stroke="var(--ink)" stroke-width="1.5" />}
          {l.kind !== "hose" && <g data-pump={l.driven === null ? undefined : l.id} data-driven={l.driven === null ? undefined : String(l.driven)} transform={`translate(${mid[0]} ${mid[1]})`}><circle r="8" fill="var(--panel)" stroke="var(--ink)" stroke-width="1.3" /><path d={l.kind === "thermostat" || !l.driven ? "M-4-4L4 4M4-4L-4 4" : "M-3-4L5 0-3 4z"} fill={l.driven ? "var(--ink)" : "none"} stroke="var(--ink)" /></g>}
        </g>))}
        {told.map((w) => { const p = at.get(w.key); if (!p) return null; const ex = Math.max(w.x, Math.min(w.x + w.w, p.x)), ey = Math.max(w.y, Math.min(w.y + w.h, p.y)); return <line key={w.key} data-leader={w.key} x1={ex} y1={ey} x2={p.x} y2={p.y} stroke="var(--ink3)" stroke-width="0.8" />; })}
        {[...at.values()].map(({ n, x, y: Y }) => (<g key={n.id}><circle cx={x} cy={Y} r="6.5" fill={heat(n.temperature, scale.low, scale.high)} stroke="var(--ink)" stroke-width="1.3" /></g>))}
        {told.map((w) => <Words key={w.key} w={w} n={at.get(w.key)?.n} boil={boil} />)}
      </svg>
      <Twin shown={tables.value} caption={label} head={["Point", `height, ${U.height}`, U.degree, `left before it boils, ${U.step}`]} rows={loop.nodes.map((n) => [n.title, fixed(n.height, U.us ? 1 : 0), fixed(n.temperature), n.left === null ? "–" : signed(n.left)])} />
    </figure>
  );
}

const box = (x: number, y: number, half: number, bad: number): Rect => ({ x: x - half, y: y - half, w: 2 * half, h: 2 * half, bad });

/** Corners beside a line at one of its points: over and under it, and to its sides where it is steep. */
function beside(q: (t: number) => number[], t: number, room: number, w: number): [number, number][] {
  const [x, y] = q(t), [p, r] = [q(t - 0.05), q(t + 0.05)], steep = Math.min(1, Math.abs(r[1] - p[1]) / (Math.abs(r[0] - p[0]) + 1)) * (w / 2);
  const up = Math.sign((r[1] - p[1]) * (r[0] - p[0])) || 1;
  return [[x - w / 2 + up * steep, y - room - LINE], [x - w / 2 - up * steep, y + room], [x + room + 4, y - LINE / 2], [x - room - 4 - w, y - LINE / 2], [x - w / 2, y - room - LINE - 8], [x - w / 2, y + room + 8]];
}

/** A point's name, temperature and what is left; or the words of a line. */
function Words({ w, n, boil }: { w: Placed; n?: LoopNode; boil?: boolean }) {
  const x = w.x + w.w / 2, y = (k: number) => w.y + 10 + k * LINE;
  if (!n) return <text class="cap halo" x={x} y={y(0)} text-anchor="middle">{w.lines[0]}</text>;
  return (<g>{w.lines.slice(0, -1).map((t, k) => <text key={k} class="halo" x={x} y={y(k)} text-anchor="middle" style="font-size:11px;font-weight:500">{t}</text>)}<text class="halo" x={x} y={y(w.lines.length - 1)} text-anchor="middle" style="font-size:11px"><tspan style="fill:var(--ink2)">{fixed(n.temperature)} {U.degree}</tspan>{boil && n.left !== null && <tspan style={`font-weight:600;fill:var(--${n.left <= 0 ? "over" : "accent"})`}> {signed(n.left)}</tspan>}</text></g>);
}

function Boil({ d }: { d: Liquids }) {
  const W = 290, rowH = 30, low = U.T(60), high = U.T(145), x = (T: number) => 112 + ((T - low) / (high - low)) * (W - 152);
  return (
    <figure><svg viewBox={`0 0 ${W} ${d.boil.length * rowH + 20}`} role="img" aria-label="Temperature and boiling point of every point with water">
      {ticks(low, high, 5).filter((k) => k > low + 1).map((k) => (<g key={k}><line class="grid" x1={x(k)} x2={x(k)} y1="16" y2={d.boil.length * rowH + 20} /><text class="cap" x={x(k)} y="11" text-anchor="middle">{k}</text></g>))}<text class="cap" x={W} y="11" text-anchor="end">K left</text>
      {d.boil.map((b, k) => { const Y = 22 + k * rowH; return (<g key={b.id}><line class="grid" x1="0" x2={W} y1={Y + 25} y2={Y + 25} /><text x="0" y={Y + 15} style="font-size:11.5px">{b.title.length > 19 ? b.title.slice(0, 18) + "…" : b.title}</text>
        {b.at.map((p, i) => (<g key={i}><line x1={x(Math.max(p.temperature, low))} x2={x(Math.min(p.boils, high))} y1={Y + 7 + i * 10} y2={Y + 7 + i * 10} stroke="var(--line2)" /><line x1={x(Math.min(p.boils, high))} x2={x(Math.min(p.boils, high))} y1={Y + 2 + i * 10} y2={Y + 12 + i * 10} stroke="var(--ink)" stroke-width="2" />{p.temperature < low && <text data-clamped x={x(low) - 6} y={Y + 11 + i * 10} text-anchor="end" class="cap">‹ {fixed(p.temperature)}</text>}{p.boils > high && <text x={x(high) + 4} y={Y + 11 + i * 10} class="cap">›</text>}<circle cx={x(Math.max(p.temperature, low))} cy={Y + 7 + i * 10} r="3.6" fill={i ? "var(--page)" : "var(--holds)"} stroke="var(--holds)" stroke-width="1.5" /></g>))}
        <text x={W} y={Y + 15} text-anchor="end" style={`font-weight:600;fill:var(--${b.left <= 0 ? "over" : "holds"})`}>{b.left_text}</text></g>); })}
    </svg></figure>
  );
}
