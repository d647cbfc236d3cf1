import { signal } from "@preact/signals";
import { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { get, Value } from "./api";
import { finding } from "./state";

type Shown = { path: string; x: number; y: number; pinned: boolean };
const shown = signal<Shown | null>(null);
let timer = 0;

function over(e: Event, path: string, pinned: boolean) {
  const r = (e.currentTarget as HTMLElement).getBoundingClientRect();
  clearTimeout(timer);
  const open = () => (shown.value = { path, x: Math.max(8, Math.min(r.left + scrollX, innerWidth - 348)), y: r.bottom + scrollY + 4, pinned });
  if (pinned) open(); else if (!shown.value?.pinned) timer = window.setTimeout(open, 300);
}
const away = () => { clearTimeout(timer); if (!shown.value?.pinned) shown.value = null; };

/** A value that tells where it comes from: on hover or focus after a moment, and pinned by a click. */
export function Src({ path, children }: { path: string; children: ComponentChildren }) {
  return <button type="button" class="link src" aria-expanded={shown.value?.pinned && shown.value.path === path} onMouseEnter={(e) => over(e, path, false)} onMouseLeave={away} onFocus={(e) => over(e, path, false)} onBlur={away} onClick={(e) => over(e, path, true)}>{children}</button>;
}

/** The one card; drawn once for the whole page. */
export function SourceCard() {
  const s = shown.value;
  const [v, set] = useState<Value | null>(null), [bad, setBad] = useState("");
  useEffect(() => {
    set(null); setBad("");
    if (s) void get<Value>(`values/${encodeURIComponent(s.path)}`).then(set, (e) => setBad(String(e.message)));
  }, [s?.path]);
  useEffect(() => {
    const close = (e: KeyboardEvent) => { if (e.key === "Escape") shown.value = null; };
    const moved = () => (shown.value = null);
    addEventListener("keydown", close); addEventListener("hashchange", moved);
    return () => { removeEventListener("keydown", close); removeEventListener("hashchange", moved); };
  }, []);
  if (!s) return null;
  return (
    <div class="card" role="status" style={`left:${s.x}px;top:${s.y}px`}>
      {v ? <><b>{v.meaning}</b><dl><dt>Value</dt><dd>{v.text} {v.spread}</dd>{v.range && <><dt>Range</dt><dd>{v.range}</dd></>}<dt>Source</dt><dd>{v.source || "none given"}</dd><dt>Written</dt><dd>{v.where}{v.edited ? ", changed by you" : ""}</dd></dl></> : <span class="note">{bad || "Looking it up"}</span>}
      {s.pinned ? <div class="head"><button type="button" class="btn" onClick={() => { finding.value = s.path.replace(/\./g, " "); shown.value = null; }}>Change it</button><button type="button" class="btn" onClick={() => (shown.value = null)}>Close</button></div> : <small>Click pins it.</small>}
    </div>
  );
}
