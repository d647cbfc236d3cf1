import { U } from "../lib/units";
import { useMemo, useState } from "preact/hooks";
import { Liquids, Loop, LoopNode, query } from "../api";
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
        <div class="head"><h2>Water</h2><span class="note">heights to scale; pipe width is flow, dashed is still; +K is left before it boils</span><span class="end"><Scale {...d.scales.coolant} /><select aria-label="Duty" value={d.duty.key} onChange={(e) => { setDuty((e.target as HTMLSelectElement).value); setTime(null); setAfter(null); }}>{m.head.duties.map((x) => <option key={x.key} value={x.key}>{x.name}</option>)}</select></span></div>
        {[0, 1].map((k) => (
          <div key={k} style="margin-top:6px">
            <div class="head"><h3 style="font-size:13px">{k === 0 ? "First picture" : soak ? "After key-off" : "Second picture"}</h3><span class="note">{d.instants[k].words}; {d.pressure[k]}</span>
              <label class="slider end" style="width:300px"><span class="hidden">Time of the picture</span><input type="range" min="0" max={d.duty.duration} step="1" value={d.instants[k].time} onInput={(e) => (k ? setAfter : setTime)(Number((e.target as HTMLInputElement).value))} /><output>{clock(d.instants[k].time)}</output></label></div>
            <Drawing loop={d.coolant[k]} scale={d.scales.coolant} tall={236} label={`Water, ${d.instants[k].words}`} boil />
          </div>))}
        {d.further.map((c) => (
          <div key={c.name}>
            <div class="head gap"><h2>{c.title}</h2><span class="note">same two instants; {c.pressure[0]}, then {c.pressure[1]}</span><span class="end"><Scale {...d.scales.further} /></span></div>
            <div class="cols" style="grid-template-columns:1fr 1fr">{[0, 1].map((k) => <Drawing key={k} loop={c.loops[k]} scale={d.scales.further} tall={190} label={`${c.title}, ${d.instants[k].words}`} boil />)}</div>
          </div>))}
        <div class="head gap"><h2>Oil</h2><span class="note">same two instants; the way back must fall all the way to the sump</span><span class="end"><Scale {...d.scales.oil} /></span></div>
        <div class="cols" style="grid-template-columns:1fr 1fr">{[0, 1].map((k) => <Drawing key={k} loop={d.oil[k]} scale={d.scales.oil} tall={170} label={`Oil, ${d.instants[k].words}`} />)}</div>
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

function Drawing({ loop, scale, tall, label, boil }: { loop: Loop; scale: { low: number; high: number }; tall: number; label: string; boil?: boolean }) {
  void ramp.value; void theme.value;
  const [ref, width] = useWidth();
  const names = loop.nodes.map((n) => n.id).join();
  const order = useMemo(() => ordered({ nodes: loop.nodes, lines: loop.lines.map((l) => ({ ...l, flow: 1 })) }), [names]);
  const W = Math.max(width, 360), L = 40, H = tall, T = 34, B = 18;
  const hs = loop.nodes.map((n) => n.height), low = Math.min(...hs), high = Math.max(...hs), span = Math.max(high - low, U.us ? 4 : 100);
  const y = (h: number) => T + ((high - h) / span) * (H - T - B - 16);
  const slot = (W - L - 104) / Math.max(order.length - 1, 1);
  const at = new Map(loop.nodes.map((n) => [n.id, { n, x: L + 46 + order.indexOf(n.id) * slot, y: y(n.height) }]));
  const most = Math.max(...loop.lines.map((l) => Math.abs(l.flow)), 0.01);
  const wide = (f: number) => Math.max(1.6, (Math.abs(f) / most) ** 0.6 * 12);
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
    return { l, d: `M${a.x} ${a.y}C${c1[0]} ${c1[1]} ${c2[0]} ${c2[1]} ${b.x} ${b.y}`, mid: q(0.5), dir: Math.atan2(q(0.55)[1] - q(0.45)[1], q(0.55)[0] - q(0.45)[0]) };
  });
  const told = blocks([...at.values()], ways.filter((w) => w.l.kind !== "hose").map((w) => ({ x: w.mid[0], y: w.mid[1] })), slot, H);
  const labels = place(ways.map((w) => ({ key: w.l.id, x: w.mid[0], y: w.mid[1], text: w.l.moves ? `${w.l.title} ${w.l.flow_text.replace("−", "")}` : `${w.l.title}, still` })), told, H);
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label={label}>
        {ticks(low, high, 3).map((k) => (<g key={k}><line class="grid" x1={L} x2={W} y1={y(k)} y2={y(k)} /><text class="cap" x={L - 6} y={y(k) + 4} text-anchor="end">{fixed(k)}</text></g>))}
        <text class="cap" x="0" y="10">height, {U.height}</text>
        {[...ways].sort((p, q) => Math.abs(q.l.flow) - Math.abs(p.l.flow)).map(({ l, d, mid, dir }) => (<g key={l.id}>
          <path d={d} fill="none" stroke={heat(l.temperature, scale.low, scale.high)} stroke-width={l.moves ? wide(l.flow) : 2} stroke-dasharray={l.moves ? "" : "4 4"} stroke-linecap="round"><title>{`${l.title}: ${l.flow_text}, ${fixed(l.temperature)} ${U.degree}`}</title></path>
          {l.moves && <path d="M-4-4L4 0-4 4" transform={`translate(${mid[0]} ${mid[1]}) rotate(${((dir + (l.flow < 0 ? Math.PI : 0)) * 180) / Math.PI})`} fill="none" stroke="var(--ink)" stroke-width="1.5" />}
          {l.kind !== "hose" && <g transform={`translate(${mid[0]} ${mid[1]})`}><circle r="8" fill="var(--panel)" stroke="var(--ink)" stroke-width="1.3" /><path d={l.kind === "thermostat" ? "M-4-4L4 4M4-4L-4 4" : l.moves ? "M-3-4L5 0-3 4z" : "M-4-4L4 4M4-4L-4 4"} fill={l.kind === "thermostat" || !l.moves ? "none" : "var(--ink)"} stroke="var(--ink)" /></g>}
        </g>))}
        {labels.map((t) => <text key={t.key} class="cap halo" x={t.x} y={t.y} text-anchor="middle">{t.text}</text>)}
        {[...at.values()].map(({ n, x, y: Y }) => (<g key={n.id}><circle cx={x} cy={Y} r="6.5" fill={heat(n.temperature, scale.low, scale.high)} stroke="var(--ink)" stroke-width="1.3" /></g>))}
        {told.map((b) => <Words key={b.n.id} b={b} boil={boil} />)}
      </svg>
      <Twin shown={tables.value} caption={label} head={["Point", `height, ${U.height}`, U.degree, `left before it boils, ${U.step}`]} rows={loop.nodes.map((n) => [n.title, fixed(n.height, U.us ? 1 : 0), fixed(n.temperature), n.left === null ? "–" : signed(n.left)])} />
    </figure>
  );
}

type Block = { n: LoopNode; x: number; y: number; lines: string[]; wide: number; tall: number };

/** Words of every point: above it, else below, else beside, where they stand on nothing. */
function blocks(points: { n: LoopNode; x: number; y: number }[], marks: { x: number; y: number }[], slot: number, H: number): Block[] {
  const done: Block[] = [];
  const most = Math.max(11, Math.floor((slot * 1.15) / 6));
  for (const { n, x, y } of [...points].sort((p, q) => p.y - q.y)) {
    const words = n.title.split(" ").reduce<string[]>((l, w) => { if (l.length && (l.at(-1)! + " " + w).length <= most) l[l.length - 1] += " " + w; else l.push(w); return l; }, []);
    const lines = words.length > 2 ? [words[0], words.slice(1).join(" ").slice(0, most - 1) + "…"] : words;
    const wide = Math.max(...lines.map((w) => w.length), 10) * 6.1, tall = (lines.length + 1) * 12;
    const clash = (cx: number, top: number) => {
      let bad = top < 0 ? 200 : top + tall > H ? 200 : 0;
      for (const d of done) bad += over(cx - wide / 2, top, wide, tall, d.x - d.wide / 2, d.y, d.wide, d.tall);
      for (const p of points) if (p.n !== n) bad += over(cx - wide / 2, top, wide, tall, p.x - 8, p.y - 8, 16, 16) * 3;
      for (const p of marks) bad += over(cx - wide / 2, top, wide, tall, p.x - 9, p.y - 9, 18, 18) * 2;
      return bad;
    };
    const options: [number, number][] = [[x, y - 9 - tall], [x, y + 10], [x - wide / 2 - 12, y - tall / 2], [x + wide / 2 + 12, y - tall / 2], [x, y - 22 - tall]];
    const best = options.reduce((a, b) => (clash(...b) < clash(...a) ? b : a));
    done.push({ n, x: best[0], y: best[1], lines, wide, tall });
  }
  return done;
}
const over = (ax: number, ay: number, aw: number, ah: number, bx: number, by: number, bw: number, bh: number) => Math.max(0, Math.min(ax + aw, bx + bw) - Math.max(ax, bx)) * Math.max(0, Math.min(ay + ah, by + bh) - Math.max(ay, by));

function Words({ b, boil }: { b: Block; boil?: boolean }) {
  const { n, x, y, lines } = b;
  return (<g>{lines.map((w, k) => <text key={k} class="halo" x={x} y={y + 10 + k * 12} text-anchor="middle" style="font-size:11px;font-weight:500">{w}</text>)}<text class="halo" x={x} y={y + 10 + lines.length * 12} text-anchor="middle" style="font-size:11px"><tspan style="fill:var(--ink2)">{fixed(n.temperature)} {U.degree}</tspan>{boil && n.left !== null && <tspan style={`font-weight:600;fill:var(--${n.left <= 0 ? "over" : "accent"})`}> {signed(n.left)}</tspan>}</text></g>);
}

/** Labels of lines moved off points and off each other. */
function place(labels: { key: string; x: number; y: number; text: string }[], points: Block[], H: number) {
  const done: typeof labels = [];
  for (const l of labels) {
    const wide = l.text.length * 3 + 4;
    const bad = (y: number) => y < 10 || y > H - 3 || done.some((d) => Math.abs(d.y - y) < 12 && Math.abs(d.x - l.x) < wide + d.text.length * 3) || points.some((p) => over(l.x - wide, y - 12, 2 * wide, 15, p.x - p.wide / 2 - 3, p.y, p.wide + 6, p.tall) > 0);
    const tries = [18, -14, 30, -26, 42, -38, 54, -50, 66];
    const dy = tries.find((t) => !bad(l.y + t));
    if (dy !== undefined) done.push({ ...l, y: l.y + dy });
  }
  return done;
}

function Boil({ d }: { d: Liquids }) {
  const W = 290, rowH = 30, low = U.T(60), high = U.T(145), x = (T: number) => 112 + ((T - low) / (high - low)) * (W - 152);
  return (
    <figure><svg viewBox={`0 0 ${W} ${d.boil.length * rowH + 20}`} role="img" aria-label="Temperature and boiling point of every point with water">
      {ticks(low, high, 5).filter((k) => k > low + 1).map((k) => (<g key={k}><line class="grid" x1={x(k)} x2={x(k)} y1="16" y2={d.boil.length * rowH + 20} /><text class="cap" x={x(k)} y="11" text-anchor="middle">{k}</text></g>))}<text class="cap" x={W} y="11" text-anchor="end">K left</text>
      {d.boil.map((b, k) => { const Y = 22 + k * rowH; return (<g key={b.id}><line class="grid" x1="0" x2={W} y1={Y + 25} y2={Y + 25} /><text x="0" y={Y + 15} style="font-size:11.5px">{b.title.length > 19 ? b.title.slice(0, 18) + "…" : b.title}</text>
        {b.at.map((p, i) => (<g key={i}><line x1={x(Math.max(p.temperature, low))} x2={x(Math.min(p.boils, high))} y1={Y + 7 + i * 10} y2={Y + 7 + i * 10} stroke="var(--line2)" /><line x1={x(Math.min(p.boils, high))} x2={x(Math.min(p.boils, high))} y1={Y + 2 + i * 10} y2={Y + 12 + i * 10} stroke="var(--ink)" stroke-width="2" /><circle cx={x(Math.max(p.temperature, low))} cy={Y + 7 + i * 10} r="3.6" fill={i ? "var(--page)" : "var(--holds)"} stroke="var(--holds)" stroke-width="1.5" /></g>))}
        <text x={W} y={Y + 15} text-anchor="end" style={`font-weight:600;fill:var(--${b.left <= 0 ? "over" : "holds"})`}>{b.left_text}</text></g>); })}
    </svg></figure>
  );
}
