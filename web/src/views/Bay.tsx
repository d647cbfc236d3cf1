import { U } from "../lib/units";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { Bay, BayPart, get, HotSpot, query, upload } from "../api";
import { heat, steps } from "../lib/ramp";
import { place, wide } from "../lib/labels";
import { clock, fixed, signed, ticks } from "../lib/text";
import { Empty, Seg, useData, useWidth } from "../parts";
import { duty, fresh, margins, part, problem, ramp, said, select, theme } from "../state";
import type { BayScene, View } from "./scene";

export function BayScreen() {
  const m = margins.value!;
  const { data: b, error } = useData<Bay>(`bay${query({ duty: duty.value })}`, fresh.value);
  const [time, setTime] = useState<number | null>(null), [what, setWhat] = useState<"T" | "K">("T"), [playing, play] = useState(false);
  const [view, setView] = useState<View>("left");
  const [panels, setPanels] = useState(false), [then, setThen] = useState(false), [hot, setHot] = useState(false);
  const [near, setNear] = useState<{ other: string; text: string } | null>(null);
  const steps_ = b?.time.length ?? 0;
  const chosen = b?.parts.find((p) => p.part === part.value) ?? b?.parts.find((p) => p.limit !== null);
  const now = time ?? chosen?.peak_time ?? 0;
  const k = useMemo(() => { if (!b) return 0; let i = 0; while (i < b.time.length - 1 && b.time[i] < now) i++; return i; }, [b, now]);
  useEffect(() => {
    if (!playing || !b) return;
    const timer = setInterval(() => setTime((t) => { const next = (t ?? now) + b.duty.duration / 240; if (next >= b.duty.duration) { play(false); return b.duty.duration; } return next; }), 50);
    return () => clearInterval(timer);
  }, [playing, b]);
  useEffect(() => {
    const keys = (e: KeyboardEvent) => {
      if (!b || e.target instanceof HTMLInputElement || e.target instanceof HTMLSelectElement) return;
      if (e.key === "ArrowLeft" || e.key === "ArrowRight") setTime(Math.max(0, Math.min(b.duty.duration, now + (e.key === "ArrowLeft" ? -1 : 1) * (e.shiftKey ? 10 : 1) * (b.duty.duration / 240))));
      if (e.key.toLowerCase() === "p") setTime(b.peaks.find((p) => p > now + 1) ?? b.peaks[0] ?? 0);
    };
    addEventListener("keydown", keys);
    return () => removeEventListener("keydown", keys);
  }, [b, now]);
  const before = then && !!b?.before;
  const spots = useSpots(hot && !before && !playing, b?.duty.key ?? "", Math.round(b?.time[k] ?? 0));
  if (!b) return <Empty title="Not computed yet"><p>{error || "The bay is drawn as soon as the duties are solved."}</p></Empty>;
  const T = (p: BayPart) => (before ? (p.before?.[k] ?? p.values[k]) : p.values[k]);
  const value = (p: BayPart) => (what === "T" ? T(p) : p.limit === null ? null : p.limit - T(p));
  const colour = (p: BayPart) => (what === "T" ? heat(T(p), b.scale.low, b.scale.high) : p.limit === null ? "#8a8a86" : heat(100 - (p.limit - T(p)) / U.scale, 0, 100));
  const listed = [...b.parts].filter((p) => p.limit !== null).concat(b.parts.filter((p) => p.limit === null));
  const measure = async (other: string) => {
    if (!other || !chosen) return setNear(null);
    try {
      const c = await get<{ text: string }>(`clearance${query({ first: chosen.part, second: other })}`);
      setNear({ other, text: c.text });
    } catch (e) { setNear({ other, text: String((e as Error).message) }); }
  };
  const shaped = b.parts.filter((p) => p.shape);
  return (
    <div class="cols s-bay">
      <nav class="first-col plist bay" aria-label="Parts">
        <div class="head"><h2>Parts at {clock(now)}</h2><span class="end note">{what === "T" ? U.degree : `${U.step} left`} · {b.before ? `change, ${U.step}` : "limit"}</span></div>
        <div style="max-height:calc(100vh - 260px);overflow:auto;padding:0 6px 0 2px;margin:0 -6px 0 -2px" tabIndex={0} role="group" aria-label="Parts, scrolls">
        {listed.map((p) => { const v = value(p), hot = T(p) > b.scale.high, change = p.before ? p.values[k] - p.before[k] : 0; return (
          <button type="button" key={p.part} class="prow" aria-current={p.part === chosen?.part} onClick={() => { select(p.part); setNear(null); }}><span class="swatch" style={`background:${colour(p)}`}>{hot && what === "T" && <svg width="8" height="6" aria-label="hotter than the scale" role="img"><path d="M0 5l4-4 4 4" fill="none" stroke="var(--page)" stroke-width="1.5" /></svg>}</span>
            <span class="name">{p.title}{p.shape ? "" : <small> no shape</small>}</span><span class={`num ${p.most !== null && T(p) > p.most ? "over bold" : "bold"}`}>{v === null ? "–" : what === "T" ? fixed(v) : signed(v)}</span><span class="num" style={b.before && Math.abs(change) >= 0.5 ? "color:var(--accent);font-weight:500" : "color:var(--ink3)"}>{b.before ? (Math.abs(change) < 0.5 ? "0" : signed(change)) : p.limit === null ? "" : fixed(p.limit)}</span></button>); })}
        </div>
        <p class="note" style="margin-top:8px">Colour: surface temperature, one scale for all; caret: hotter than the scale. A part's mean, which is what is judged; a limit with a time may be passed for that long, red is past what is allowed for any time.</p>
      </nav>
      <section aria-label="The bay in space">
        <div class="head"><h2>The bay, {b.duty.name.toLowerCase()}, {clock(now)}</h2><span class="note">drag turns, scroll zooms, click picks; {fixed(b.shapes.triangles)} triangles</span>
          <span class="end"><Seg label="View" items={[["left", "From left"], ["front", "Front"], ["above", "Above"], ["right", "From right"]]} value={view} onPick={setView} />{b.before && <Seg label="Variant" items={[["now", "Now"], ["then", `Before: ${b.before}`]]} value={then ? "then" : "now"} onPick={(v) => setThen(v === "then")} />}<button type="button" class="btn" aria-pressed={hot} onClick={() => setHot(!hot)}>Hot spots{hot ? " ✓" : ""}</button><button type="button" class="btn" aria-pressed={panels} onClick={() => setPanels(!panels)}>Panels{panels ? " ✓" : ""}</button><Seg label="Colour" items={[["T", `Surface ${U.degree}`], ["K", `Margin, ${U.step}`]]} value={what} onPick={setWhat} /></span></div>
        {shaped.length ? <Space b={b} T={T} spots={spots.list} k={k} panels={panels} colour={colour} chosen={chosen} view={view} what={what} /> : <Empty title="No part has a shape yet"><p>Every part stands in the list and in every chart. Give parts a shape in car.yaml (box, plate, cylinder, tube, sphere, cone or a mesh) and the bay is drawn here.</p></Empty>}
        {hot && <p class="note" style="margin-top:6px">{before ? "Hot spots are those of the variant now." : spots.busy ? "Hot spots of this instant are being worked out; the first time takes longer." : spots.list.length ? `Hot spots, ${U.degree}, mean of the part in brackets: ${spots.list.slice(0, 8).map((s) => `${s.title} ${fixed(s.peak)} (${fixed(s.mean)})${s.past ? `, may pass its limit of ${fixed(s.limit!)} there though the mean is what is judged` : ""}`).join("; ")}. An upper bound while parts still warm up.` : spots.error || "No part is hotter in one place than on average by as much as 2 K."}</p>}
        {chosen && <Timeline b={b} p={chosen} now={now} onTime={setTime} />}
        <div class="head" style="margin-top:6px"><label class="slider" style="flex:1"><span>Time</span><input type="range" data-scrub min="0" max={b.duty.duration} step={Math.max(1, Math.round(b.duty.duration / steps_))} value={now} onInput={(e) => setTime(Number((e.target as HTMLInputElement).value))} /><output>{clock(now)}</output></label>
          <button type="button" class="btn" onClick={() => play(!playing)}>{playing ? "Stop" : "Play"}</button><button type="button" class="btn" onClick={() => setTime(b.peaks.find((p) => p > now + 1) ?? b.peaks[0] ?? 0)}>Next peak<kbd>P</kbd></button>
          <select aria-label="Duty" value={b.duty.key} onChange={(e) => { duty.value = (e.target as HTMLSelectElement).value; setTime(null); }}>{m.head.duties.map((d) => <option key={d.key} value={d.key}>{d.name}</option>)}</select></div>
        <div class="head" style="margin-top:8px"><label>Clearance from {chosen?.title.toLowerCase() ?? "–"} to <select value={near?.other ?? ""} onChange={(e) => void measure((e.target as HTMLSelectElement).value)} aria-label="Second part"><option value="">choose a part</option>{shaped.filter((p) => p.part !== chosen?.part).map((p) => <option key={p.part} value={p.part}>{p.title}</option>)}</select></label><b>{near?.text}</b>
          <span class="end"><label class="btn">Add a mesh<input type="file" accept=".stl,.glb" class="hidden" onChange={async (e) => { const f = (e.target as HTMLInputElement).files?.[0]; if (!f) return; try { const r = await upload<{ file: string; next_step: string }>("meshes", f); said.value = [`Kept ${r.file}. Next: ${r.next_step}`]; } catch (x) { problem.value = x as never; } }} /></label></span></div>
        {b.shapes.failed.length > 0 && <p class="note">Could not be built: {b.shapes.failed.map((f) => `${f.title} (${f.what})`).join("; ")}</p>}
        {b.shapes.missing.length > 0 && <p class="note">No shape, still in every chart: {b.shapes.missing.map((f) => f.title).join(", ")}.</p>}
      </section>
    </div>
  );
}

/** Hot spots of one instant; asked for when the time has stood still for a moment. */
function useSpots(on: boolean, key: string, time: number): { list: HotSpot[]; busy: boolean; error: string } {
  const [state, set] = useState<{ list: HotSpot[]; busy: boolean; error: string }>({ list: [], busy: false, error: "" });
  const stamp = fresh.value;
  useEffect(() => {
    if (!on || !key) return set({ list: [], busy: false, error: "" });
    let live = true;
    set({ list: [], busy: true, error: "" });
    const timer = setTimeout(() => void get<{ spots: HotSpot[] }>(`hotspots${query({ duty: key, time })}`).then((d) => live && set({ list: d.spots, busy: false, error: "" }), (e) => live && set({ list: [], busy: false, error: String((e as Error).message) })), 300);
    return () => { live = false; clearTimeout(timer); };
  }, [on, key, time, stamp]);
  return state;
}

function Space({ b, T, spots, k, panels, colour, chosen, view, what }: { b: Bay; T: (p: BayPart) => number; spots: HotSpot[]; k: number; panels: boolean; colour: (p: BayPart) => string; chosen?: BayPart; view: View; what: string }) {
  const host = useRef<HTMLDivElement>(null), scene = useRef<BayScene | null>(null);
  const [, redraw] = useState(0), [built, build] = useState(0), [failed, fail] = useState("");
  const shapes = useMemo(() => JSON.stringify(b.shapes.parts.map((s) => [s.part, s.vertices.length, s.vertices[0], s.vertices.at(-1)])), [b]);
  const waiting = useRef(0);
  useEffect(() => {
    let live = true;
    void import("./scene").then(({ BayScene }) => {
      if (!live || !host.current) return;
      try {
        scene.current ??= new BayScene(host.current, select, () => { if (!waiting.current) waiting.current = requestAnimationFrame(() => { waiting.current = 0; redraw((n) => n + 1); }); });
        (window as unknown as Record<string, unknown>).bayFrames = scene.current.frames;
        scene.current.build(b.shapes.parts);
        build((n) => n + 1);
      } catch (e) { fail(String((e as Error).message)); }
    });
    return () => { live = false; };
  }, [shapes]);
  useEffect(() => () => { scene.current?.end(); scene.current = null; }, []);
  useEffect(() => scene.current?.look(view), [view]);
  const seen = theme.value;
  useEffect(() => {
    const css = getComputedStyle(document.documentElement);
    const walls = new Set(b.shapes.parts.filter((s) => s.wall).map((s) => s.part));
    scene.current?.paint(new Map(b.parts.map((p) => [p.part, !panels && walls.has(p.part) && p.part !== chosen?.part ? null : colour(p)])), chosen?.part ?? "", css.getPropertyValue("--well").trim(), css.getPropertyValue("--ink").trim());
  }, [k, panels, chosen?.part, built, seen, what, ramp.value, scene.current, T === undefined, b, colour(b.parts[0])]);
  const called = [chosen, b.parts.find((p) => p.limit !== null && p.shape && p.part !== chosen?.part && !b.shapes.parts.find((s) => s.part === p.part)?.wall)].filter((p): p is BayPart => !!p && p.shape);
  const boxes = called.map((p, i) => ({ p, at: scene.current?.place(p.part) ?? null, x: 16 + i * 230, y: 14 }));
  const marked = spots.slice(0, 8).flatMap((s) => { const p = scene.current?.at(s.place); return p ? [{ ...s, p }] : []; });
  const told = place(marked.map((s) => ({ key: s.part, lines: [`${s.title} ${fixed(s.peak)}`], at: [[10, -6], [10, 6], [10, -18], [-10 - wide([`${s.title} ${fixed(s.peak)}`]), -6], [10, 18], [10, -30], [10, 30], [-10 - wide([`${s.title} ${fixed(s.peak)}`]), 12]].map(([x, y]): [number, number] => [s.p[0] + x, s.p[1] + y]) })), marked.map((s) => ({ x: s.p[0] - 8, y: s.p[1] - 8, w: 16, h: 14 })), { x: 0, y: 50, w: host.current?.clientWidth ?? 900, h: 420 });
  return (
    <div class="view" ref={host}>
      {failed && <div class="empty" style="padding:24px"><h2>This browser cannot draw in space</h2><p>{failed}. The list holds the same parts and temperatures.</p></div>}
      <svg style="position:absolute;inset:0;width:100%;height:100%;pointer-events:none" aria-hidden="true">{boxes.map((c) => c.at && <g key={c.p.part}><line x1={c.x + 60} y1={c.y + 30} x2={c.at[0]} y2={c.at[1]} stroke="var(--ink)" stroke-width="1" /><circle cx={c.at[0]} cy={c.at[1]} r="3.5" fill="var(--panel)" stroke="var(--ink)" /></g>)}{marked.map((s) => <g key={s.part}><path d={`M${s.p[0]} ${s.p[1] - 7}l7 12h-14z`} fill="var(--panel)" stroke={s.past ? "var(--over)" : "var(--ink)"} stroke-width="1.6" /></g>)}{told.map((l) => <text key={l.key} class="halo" x={l.x} y={l.y + 10} style="font-size:11px;font-weight:600">{l.lines[0]}</text>)}</svg>
      {boxes.map((c) => c.at && <div key={c.p.part} class="call" style={`left:${c.x}px;top:${c.y}px`}><b class={c.p.most !== null && T(c.p) > c.p.most ? "over" : ""}>{c.p.title} {fixed(T(c.p))} {U.degree}{b.before && c.p.before ? `, ${signed(c.p.values[k] - c.p.before[k])} ${U.step}` : ""}</b><br /><small>{c.p.limit === null ? "no limit" : `limit ${c.p.limit_text}`}</small></div>)}
      <div class="scale" aria-label="Colour scale">{what === "T" ? `${U.degree}, surface` : `${U.step} left`}<svg width="64" height="158" style="display:block" aria-hidden="true">{steps(b.scale.low, b.scale.high).map((c, i) => <rect key={i} x="0" y={138 - i * 11.5} width="14" height="11.8" fill={c} />)}{what === "T" ? [0, 0.25, 0.5, 0.75, 1].map((s) => <text key={s} class="cap" x="20" y={150 - s * 138 + 3}>{fixed(b.scale.low + s * (b.scale.high - b.scale.low))}{s === 1 ? " ⌃" : ""}</text>) : [0, 50, 100].map((K) => <text key={K} class="cap" x="20" y={K / 100 * 138 + 14}>{fixed(K * U.scale)}</text>)}{what === "T" && chosen?.limit && chosen.limit <= b.scale.high && <line x1="-2" x2="17" y1={150 - ((chosen.limit - b.scale.low) / (b.scale.high - b.scale.low)) * 138} y2={150 - ((chosen.limit - b.scale.low) / (b.scale.high - b.scale.low)) * 138} stroke="var(--ink)" stroke-width="2" />}</svg></div>
    </div>
  );
}

function Timeline({ b, p, now, onTime }: { b: Bay; p: BayPart; now: number; onTime: (t: number) => void }) {
  const [ref, width] = useWidth();
  const W = Math.max(width, 300), H = 106, L = 38, T = 14, B = 30;
  const low = Math.min(...p.values, ...(p.before ?? [])), high = Math.max(...p.values, ...(p.before ?? []), p.limit !== null && p.limit < Math.max(...p.values) + 60 ? p.limit : 0) + 4;
  const x = (t: number) => L + (t / b.duty.duration) * (W - L - 8), y = (v: number) => T + ((high - v) / (high - low || 1)) * (H - T - B);
  const trace = (values: number[]) => b.time.map((t, i) => `${i ? "L" : "M"}${x(t).toFixed(1)} ${y(values[i]).toFixed(1)}`).join("");
  const d = useMemo(() => ({ now: trace(p.values), then: p.before ? trace(p.before) : "" }), [b, p, W]);
  const c = p.state ? `var(--${p.state})` : "var(--holds)";
  return (
    <figure ref={ref} style="margin-top:8px">
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label={`${p.title} over ${b.duty.name}`} style="cursor:pointer" onClick={(e) => { const r = (e.currentTarget as SVGElement).getBoundingClientRect(); onTime(Math.max(0, Math.min(1, (e.clientX - r.left - L) / (W - L - 8))) * b.duty.duration); }}>
        <rect x={L} y={T} width={Math.max(0, x(Math.min(b.duty.key_off, b.duty.duration)) - L)} height={H - T - B} fill="var(--shade)" />
        {ticks(low, high, 3).map((v) => <g key={v}><line class="grid" x1={L} x2={W - 8} y1={y(v)} y2={y(v)} /><text class="cap" x={L - 6} y={y(v) + 4} text-anchor="end">{fixed(v)}</text></g>)}
        {b.duty.key_off < b.duty.duration - 1 && <><line x1={x(b.duty.key_off)} x2={x(b.duty.key_off)} y1={T} y2={H - B} stroke="var(--ink2)" /><text class="mid halo" x={x(b.duty.key_off) + 4} y={H - B - 4}>key-off</text></>}
        {p.limit !== null && p.limit <= high && <><line class="limit" x1={L} x2={W - 8} y1={y(p.limit)} y2={y(p.limit)} /><text class="halo" x={W - 8} y={y(p.limit) - 4} text-anchor="end" style="font-size:11px;font-weight:600">limit {fixed(p.limit)} {U.degree}</text></>}
        <path d={d.now} fill="none" stroke={c} stroke-width="1.7" />
        {p.before && <path d={d.then} fill="none" stroke="var(--ink3)" stroke-width="1.3" stroke-dasharray="5 3" />}
        <text class="halo" x={L + 5} y={T - 2} style={`fill:${c};font-size:11px;font-weight:600`}>{p.title}{p.before ? `; dashed: ${b.before}` : ""}</text>
        <line x1={x(now)} x2={x(now)} y1={T - 6} y2={H - B} stroke="var(--accent)" stroke-width="2" />
        {b.peaks.map((t) => <path key={t} d={`M${x(t) - 4} ${H - 4}l4-7 4 7z`} fill="var(--ink2)"><title>a part peaks here</title></path>)}
        {ticks(0, b.duty.duration / 60, 6).map((t, i, a) => <text key={t} class="cap" x={x(t * 60)} y={H - B + 13} text-anchor={i ? (i === a.length - 1 ? "end" : "middle") : "start"}>{t}{i === a.length - 1 ? " min" : ""}</text>)}
      </svg>
    </figure>
  );
}
