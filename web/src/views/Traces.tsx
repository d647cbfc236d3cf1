import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { decimate } from "../lib/decimate";
import { theme } from "../state";

export type Channel = { column: string; quantity: string; unit: string; rate: number; samples: number; place: string; time: number[]; values: (number | null)[] };
export type Span = [number, number];

/** One channel over time, thinned to two points a pixel; wheel zooms, drag picks a stretch, double click shows all. */
export function Trace({ c, span, onSpan, tall }: { c: Channel; span: Span; onSpan: (s: Span | null) => void; tall: number }) {
  const host = useRef<HTMLDivElement>(null), plot = useRef<uPlot | null>(null), latest = useRef(onSpan);
  latest.current = onSpan;
  const now = useRef(span);
  now.current = span;
  const name = theme.value;
  useEffect(() => {
    const css = getComputedStyle(document.documentElement), ink3 = css.getPropertyValue("--ink3").trim(), line = css.getPropertyValue("--line").trim(), ink = css.getPropertyValue("--ink").trim();
    const font = "11px system-ui, sans-serif";
    const u = new uPlot({
      width: host.current!.clientWidth, height: tall, legend: { show: false }, cursor: { drag: { x: true, y: false, setScale: false }, points: { show: false } },
      scales: { x: { time: false } },
      axes: [{ stroke: ink3, font, grid: { stroke: line, width: 1 }, ticks: { show: false }, size: 22, values: (_, v) => v.map((s) => (s >= 120 || s === 0 ? `${Math.round(s / 6) / 10}` : `${s} s`)) }, { stroke: ink3, font, grid: { stroke: line, width: 1 }, ticks: { show: false }, size: 48 }],
      series: [{}, { stroke: ink, width: 1, points: { show: false }, spanGaps: false }],
      hooks: { setSelect: [(self) => { if (self.select.width > 4) { const a = self.posToVal(self.select.left, "x"), b = self.posToVal(self.select.left + self.select.width, "x"); self.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false); latest.current([a, b]); } }] },
    }, [[], []], host.current!);
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
  }, [c, name, tall]);
  useEffect(() => {
    const u = plot.current;
    if (!u) return;
    const [t, v] = decimate(c.time, c.values, span[0], span[1], Math.max(200, host.current!.clientWidth));
    // Data and scale in one step, else the axis of values would follow the old data.
    u.batch(() => { u.setData([t, v] as uPlot.AlignedData, false); u.setScale("x", { min: span[0], max: span[1] }); const known = v.filter((x): x is number => x !== null); const lo = known.reduce((p, q) => Math.min(p, q), Infinity), hi = known.reduce((p, q) => Math.max(p, q), -Infinity); if (known.length) u.setScale("y", { min: lo - (hi - lo || 1) * 0.06, max: hi + (hi - lo || 1) * 0.06 }); });
  }, [c, span[0], span[1], name]);
  return <div ref={host} class="plot" role="img" aria-label={`${c.column} over time`} />;
}
