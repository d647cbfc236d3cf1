import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { picked } from "../lib/decimate";
import { withPlainCanvas } from "../lib/software";
import { fixed } from "../lib/text";
import { theme } from "../state";

/** One channel; with a prediction beside it where a log was laid over the model. half: of the prediction's band. */
export type Line = { column: string; unit: string; time: number[]; values: (number | null)[]; predicted?: number[]; half?: number; limit?: number | null };
export type Span = [number, number];
export const AXIS = 48, RIGHT = 10;
const STEPS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400];

/** Figures of the time axis: minutes where they go past two, else seconds; the last one says which. */
const minutes = (v: number[]) => { const long = (v.at(-1) ?? 0) >= 120; return v.map((s, k) => `${long ? Math.round(s / 6) / 10 : s}${k === v.length - 1 ? (long ? " min" : " s") : ""}`); };

/** Over time, thinned to two points a pixel; wheel zooms, drag picks a stretch, double click shows all. */
export function Trace({ c, span, onSpan, tall }: { c: Line; span: Span; onSpan: (s: Span | null) => void; tall: number }) {
  const host = useRef<HTMLDivElement>(null), plot = useRef<uPlot | null>(null), latest = useRef(onSpan);
  latest.current = onSpan;
  const now = useRef(span);
  now.current = span;
  const name = theme.value, both = !!c.predicted;
  useEffect(() => {
    const css = getComputedStyle(document.documentElement), of = (token: string) => css.getPropertyValue(token).trim();
    const ink3 = of("--ink3"), line = of("--line"), accent = of("--accent"), font = "11px system-ui, sans-serif";
    const thin = { points: { show: false }, spanGaps: false };
    const series: uPlot.Series[] = [{}, { stroke: of("--ink"), width: 1, ...thin }];
    if (both) series.push({ stroke: accent, width: 1.6, dash: [6, 3], ...thin }, { stroke: "transparent", width: 0, ...thin }, { stroke: "transparent", width: 0, ...thin }, { stroke: of("--ink"), width: 2, ...thin });
    const u = withPlainCanvas(() => new uPlot({
      width: host.current!.clientWidth, height: tall, padding: [8, RIGHT, 0, 0], legend: { show: false }, cursor: { drag: { x: true, y: false, setScale: false }, points: { show: false } },
      scales: { x: { time: false } },
      axes: [{ stroke: ink3, font, grid: { stroke: line, width: 1 }, ticks: { show: false }, size: 22, space: 60, incrs: STEPS, values: (_, v) => minutes(v) }, { stroke: ink3, font, grid: { stroke: line, width: 1 }, ticks: { show: false }, size: AXIS, values: (_, v, _axis, _space, step) => v.map((x) => fixed(x, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)))) }],
      series, bands: both ? [{ series: [3, 4], fill: accent + "2e" }] : [],
      hooks: { setSelect: [(self) => { if (self.select.width > 4) { const a = self.posToVal(self.select.left, "x"), b = self.posToVal(self.select.left + self.select.width, "x"); self.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false); latest.current([a, b]); } }] },
    }, series.map(() => []) as unknown as uPlot.AlignedData, host.current!));
    plot.current = u;
    u.over.addEventListener("wheel", (e) => {
      e.preventDefault();
      const [a, b] = now.current, at = u.posToVal(e.offsetX, "x"), f = e.deltaY > 0 ? 1.25 : 0.8;
      latest.current([at - (at - a) * f, at + (b - at) * f]);
    }, { passive: false });
    u.over.addEventListener("dblclick", () => latest.current(null));
    const size = new ResizeObserver(() => host.current && u.setSize({ width: host.current.clientWidth, height: tall }));
    size.observe(host.current!);
    return () => { size.disconnect(); u.destroy(); };
  }, [c, name, tall, both]);
  useEffect(() => {
    const u = plot.current;
    if (!u) return;
    const rows = picked(c.time, c.values, span[0], span[1], Math.max(200, host.current!.clientWidth));
    const data: (number | null)[][] = [rows.map((k) => c.time[k]), rows.map((k) => c.values[k])];
    if (c.predicted) { const p = c.predicted, h = c.half ?? 0; data.push(rows.map((k) => p[k]), rows.map((k) => p[k] + h), rows.map((k) => p[k] - h)); const top = p.reduce((a, b) => Math.max(a, b), -Infinity), near = c.limit != null && c.limit - top < 60; data.push(rows.map(() => (near ? c.limit! : null))); }
    let lo = Infinity, hi = -Infinity;
    for (const one of data.slice(1)) for (const x of one) if (x !== null) { if (x < lo) lo = x; if (x > hi) hi = x; }
    // Data and scale in one step, else the axis of values would follow the old data.
    u.batch(() => { u.setData(data as uPlot.AlignedData, false); u.setScale("x", { min: span[0], max: span[1] }); if (hi >= lo) u.setScale("y", { min: lo - (hi - lo || 1) * 0.06, max: hi + (hi - lo || 1) * 0.06 }); });
  }, [c, span[0], span[1], name]);
  return <div ref={host} class="plot" role="img" aria-label={`${c.column} over time${both ? ", measured and predicted" : ""}`} />;
}
