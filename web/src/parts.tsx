import { U } from "./lib/units";
import { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { get, State } from "./api";
import { steps } from "./lib/ramp";
import { ramp, theme } from "./state";
import { fixed } from "./lib/text";

/** The state mark: a bar and the line. Silhouettes differ, so that no colour is needed. */
export function Mark({ state, size = 1 }: { state: State; size?: number }) {
  const c = `var(--${state === "none" ? "ink3" : state})`;
  return (
    <svg class="mark" role="img" aria-label={state === "none" ? "not solved" : state} width={20 * size} height={12 * size} viewBox="0 0 20 12" style="flex:none">
      {state === "holds" && <path d="M1 3.5h8v5H1z" fill={c} />}
      {state === "thin" && (<><path d="M1 3.5h8v5H1z" fill={c} /><path d="M9.6 4.1h4.4v3.8H9.6z" fill="none" stroke={c} stroke-width="1.2" /></>)}
      {state === "over" && <path d="M1 2.5h12V.8L19.6 6 13 11.2V9.5H1z" fill={c} />}
      {state === "none" && <path d="M2 6h7" stroke={c} stroke-width="1.6" />}
      <path d="M14 0v12" stroke={state === "over" ? "var(--page)" : "var(--ink)"} stroke-width={state === "over" ? 3.4 : 1.8} />
      {state === "over" && <path d="M14 0v12" stroke="var(--ink)" stroke-width="1.8" />}
    </svg>
  );
}

export function Seg<T extends string>({ label, items, value, onPick }: { label: string; items: [T, string][]; value: T; onPick: (v: T) => void }) {
  return (
    <div class="seg" role="group" aria-label={label}>
      {items.map(([key, text]) => (<button type="button" key={key} aria-pressed={key === value} onClick={() => onPick(key)}>{text}</button>))}
    </div>
  );
}

export function Scale({ low, high, unit = U.degree }: { low: number; high: number; unit?: string }) {
  void ramp.value; void theme.value;
  return (
    <span class="legend" style="margin:0">
      <span><small>{fixed(low)} {unit}</small>
        <svg width="156" height="10" role="img" aria-label={`colour scale, ${fixed(low)} to ${fixed(high)} ${unit}`}>{steps(low, high).map((c, k) => <rect key={k} x={k * 13} width="13.2" height="10" fill={c} />)}</svg>
        <small>{fixed(high)} {unit}</small></span>
    </span>
  );
}

/** Waits before it asks where asked to (ms): an edit that comes meanwhile goes first. Asks the program again whenever `path` or `stamp` changes; keeps what is shown until the reply is there. */
export function useData<T>(path: string | null, stamp: unknown, wait = 0): { data: T | null; error: string; busy: boolean } {
  const [state, set] = useState<{ data: T | null; error: string; busy: boolean }>({ data: null, error: "", busy: true });
  const wanted = useRef(0);
  useEffect(() => {
    if (!path) return;
    const mine = ++wanted.current;
    set((s) => ({ ...s, busy: true }));
    const ask = () => get<T>(path).then(
      (data) => mine === wanted.current && set({ data, error: "", busy: false }),
      (error) => mine === wanted.current && set((s) => ({ data: s.data, error: String(error.message ?? error), busy: false })),
    );
    if (!wait) return void ask();
    const timer = setTimeout(ask, wait);
    return () => clearTimeout(timer);
  }, [path, stamp]);
  return state;
}

export function useWidth(): [preactRef: (e: Element | null) => void, width: number] {
  const [width, set] = useState(0);
  const seen = useRef<ResizeObserver | null>(null);
  const at = useRef((e: Element | null) => {
    seen.current?.disconnect();
    if (!e) return;
    seen.current = new ResizeObserver(() => set(Math.round((e as HTMLElement).clientWidth)));
    seen.current.observe(e);
    set(Math.round((e as HTMLElement).clientWidth));
  });
  return [at.current, width];
}

export function Empty({ title, children }: { title: string; children: ComponentChildren }) {
  return (<div class="empty"><h2>{title}</h2>{children}</div>);
}

/** The table twin of a drawing. */
export function Twin({ caption, head, rows, shown }: { caption: string; head: string[]; rows: (string | number)[][]; shown: boolean }) {
  return (
    <div class={shown ? "scroll" : "hidden"}>
      <table><caption class={shown ? "note" : ""} style="text-align:left">{caption}</caption>
        <thead><tr>{head.map((h, k) => <th key={h} scope="col" class={k ? "num" : ""}>{h}</th>)}</tr></thead>
        <tbody>{rows.map((r, k) => <tr key={k}>{r.map((c, i) => <td key={i} class={i ? "num" : ""}>{typeof c === "number" ? fixed(c, 1) : c}</td>)}</tr>)}</tbody>
      </table>
    </div>
  );
}
