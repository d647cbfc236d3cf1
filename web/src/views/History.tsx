import { U } from "../lib/units";
import { History, State } from "../api";
import { clock, fixed, ticks } from "../lib/text";
import { useWidth } from "../parts";

/** One part over a duty: driven part shaded, key-off and limit labelled on their lines, peak as a hollow circle. */
export function HistoryChart({ h, state, half, small, others = [] }: { h: History; state: State; half: number | null; small?: boolean; others?: History[] }) {
  const [ref, width] = useWidth();
  const W = Math.max(width, 200), H = small ? 132 : 330, L = 38, R = small ? 6 : 128, T = 16, B = small ? 18 : 46;
  const flat = h.limits.filter((l) => l.value !== undefined) as { label: string; value: number }[];
  const tops = [...h.value, ...others.flatMap((o) => o.value)];
  let low = Math.min(...tops), high = Math.max(...tops);
  for (const l of flat) if (l.value < high + 80 && l.value > low - 40) high = Math.max(high, l.value);
  high += (high - low) * 0.08 + (half ?? 0) * 1.15; low -= (high - low) * 0.04;
  const x = (t: number) => L + (t / h.duration) * (W - L - R), y = (T_: number) => T + ((high - T_) / (high - low)) * (H - T - B);
  const path = (t: number[], v: number[]) => t.map((s, k) => `${k ? "L" : "M"}${x(s).toFixed(1)} ${y(v[k]).toFixed(1)}`).join("");
  const peak = h.peak;
  const c = `var(--${state})`, minutes = h.duration / 60, stops = h.key_off < h.duration - 1;
  const speedTop = Math.max(...h.speed, 1), S0 = H - B + 24;
  const ends = [{ title: h.title, value: h.value.at(-1)!, c, bold: true, dash: "" }, ...others.map((o, k) => ({ title: o.title, value: o.value.at(-1)!, c: "var(--holds)", bold: false, dash: ["6 3", "2 3", "8 3 2 3"][k % 3] }))].map((e) => ({ ...e, at: y(e.value) })).sort((a, b) => a.at - b.at);
  for (let k = 1; k < ends.length; k++) ends[k].at = Math.max(ends[k].at, ends[k - 1].at + 14);
  return (
    <figure ref={ref}>
      <svg viewBox={`0 0 ${W} ${H}`} height={H} role="img" aria-label={`${h.title} over ${h.duty_name}: peak ${fixed(h.value[peak])} ${U.degree} at ${clock(h.time[peak])}`}>
        <rect x={L} y={T} width={x(Math.min(h.key_off, h.duration)) - L} height={H - T - B} fill="var(--shade)" />
        {ticks(low, high, small ? 3 : 5).map((k) => (<g key={k}><line class="grid" x1={L} x2={W - R} y1={y(k)} y2={y(k)} /><text class="cap" x={L - 6} y={y(k) + 4} text-anchor="end">{fixed(k)}</text></g>))}
        {ticks(0, minutes, small ? 3 : 6).map((k, i, all) => (<text key={k} class="cap" x={x(k * 60)} y={H - 4} text-anchor={i === 0 ? "start" : i === all.length - 1 ? "end" : "middle"}>{k}{i === all.length - 1 ? " min" : ""}</text>))}
        {stops && (<g><line x1={x(h.key_off)} x2={x(h.key_off)} y1={T} y2={H - B} stroke="var(--ink2)" stroke-dasharray={small ? "3 3" : ""} /><text class="mid" x={x(h.key_off) + 4} y={H - B - 4}>key-off</text></g>)}
        {half !== null && !small && (<g stroke={c} stroke-width="1.6"><line x1={x(h.time[peak])} x2={x(h.time[peak])} y1={y(h.value[peak] + half)} y2={y(h.value[peak] - half)} /><line x1={x(h.time[peak]) - 5} x2={x(h.time[peak]) + 5} y1={y(h.value[peak] + half)} y2={y(h.value[peak] + half)} /><line x1={x(h.time[peak]) - 5} x2={x(h.time[peak]) + 5} y1={y(h.value[peak] - half)} y2={y(h.value[peak] - half)} /></g>)}
        {others.map((o, k) => <path key={o.part} d={path(o.time, o.value)} fill="none" stroke="var(--holds)" stroke-width="1.3" stroke-dasharray={["6 3", "2 3", "8 3 2 3"][k % 3]} />)}
        <path d={path(h.time, h.value)} fill="none" stroke={c} stroke-width="1.8" />
        {flat.filter((l) => l.value <= high && l.value >= low).map((l, k) => (<g key={l.label}><line class="limit" x1={L} x2={W - R} y1={y(l.value)} y2={y(l.value)} stroke-width={k ? 1.2 : 2} /><text class="halo" x={W - R - (small ? 0 : 4)} y={y(l.value) - 4} text-anchor="end" style="font-size:11px;font-weight:600">{l.label} {U.degree}</text></g>))}
        {h.limits.filter((l) => l.values).map((l) => (<g key={l.label}><path d={path(h.time, l.values!)} fill="none" stroke="var(--ink)" stroke-width="1.8" />{!small && <text class="halo" x={L + 5} y={y(l.values![0]) - 5} style="font-size:11px;font-weight:600">{l.label}</text>}</g>))}
        {!small && (<>
          <circle cx={x(h.time[peak])} cy={y(h.value[peak])} r="4" fill="var(--page)" stroke={c} stroke-width="1.8" />
          <text class="halo" x={x(h.time[peak]) + (h.time[peak] > h.duration * 0.7 ? -8 : 8)} y={y(h.value[peak] + (half ?? 0)) - 8} text-anchor={h.time[peak] > h.duration * 0.7 ? "end" : "start"} style={`fill:${c};font-weight:600`}>{fixed(h.value[peak], 1)} at {clock(h.time[peak])}</text>
          {ends.map((e) => (<text key={e.title} x={W - R + 8} y={Math.min(e.at, H - B) + 4} style={`fill:${e.c};font-size:11px;font-weight:${e.bold ? 600 : 400}`}>{e.title.length > 21 ? e.title.slice(0, 20) + "…" : e.title}</text>))}
          <path d={`M${x(0)} ${S0}` + h.time.map((s, k) => `L${x(s).toFixed(1)} ${(S0 - (h.speed[k] / speedTop) * 18).toFixed(1)}`).join("") + `L${x(h.duration)} ${S0}Z`} fill="var(--ink3)" opacity="0.45" />
          <text class="cap" x={W - R + 8} y={S0}>speed, to {fixed(speedTop)} {U.speed}</text>
        </>)}
      </svg>
    </figure>
  );
}
