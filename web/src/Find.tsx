import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { get, Value } from "./api";
import { Mark } from "./parts";
import { act, finding, fit, go, margins, problem } from "./state";

type Found = { parts: { part: string; title: string; state: "holds" | "thin" | "over" }[]; measures: { name: string; title: string; fitted: boolean }[]; values: Value[] };

/** Find a part, a measure or any value, and change it; forms come from the declarations in Python. */
export function Find() {
  const [text, setText] = useState(finding.value ?? ""), [found, set] = useState<Found | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const version = margins.value?.head.version;
  useLayoutEffect(() => field.current?.focus(), []);
  useEffect(() => {
    if (!text.trim()) return set(null);
    const timer = setTimeout(() => void get<Found>(`find?text=${encodeURIComponent(text.trim().slice(0, 100))}`).then(set, () => set(null)), 120);
    return () => clearTimeout(timer);
  }, [text, version]);
  return (
    <section class="find" aria-label="Find" onKeyDown={(e) => e.key === "Escape" && (finding.value = null)}>
      <div class="head" style="flex-wrap:nowrap"><input ref={field} type="text" aria-label="Part, measure or value" placeholder="Part, measure or value: loom, blanket coverage, rated power" value={text} onInput={(e) => setText((e.target as HTMLInputElement).value)} /><button type="button" class="btn" onClick={() => (finding.value = null)}>Close</button></div>
      {found && (<>
        {found.parts.length > 0 && <><h3>Parts</h3>{found.parts.map((p) => <div key={p.part}><button type="button" class="link" onClick={() => { go("part", p.part); finding.value = null; }}><Mark state={p.state} /> {p.title}</button></div>)}</>}
        {found.measures.length > 0 && <><h3>Measures</h3>{found.measures.map((x) => <div class="head" key={x.name}><span>{x.title}</span><span class="end"><button type="button" class="btn" onClick={() => void fit(x.name, !x.fitted)}>{x.fitted ? "Leave out" : "Fit"}</button></span></div>)}</>}
        {found.values.length > 0 && <><h3>Values</h3>{found.values.map((v) => <Field key={v.path} v={v} />)}</>}
        {!found.parts.length && !found.measures.length && !found.values.length && <p class="note" style="margin-top:10px">Nothing of that name.</p>}
      </>)}
    </section>
  );
}

function Field({ v }: { v: Value }) {
  const [text, set] = useState(v.text), [bad, setBad] = useState("");
  useEffect(() => set(v.text), [v.text]);
  const send = async (next: string) => {
    if (next === v.text) return;
    const done = await act("edit", { values: [{ file: v.file, path: v.file_path, text: next }] });
    const f = problem.value?.data.findings?.[0];
    setBad(done ? "" : f ? [f.what, f.got && `got ${f.got}`, f.allowed && `allowed: ${f.allowed}`, f.next_step].filter(Boolean).join("; ") : (problem.value?.message ?? "not taken"));
    if (!done) problem.value = null;
  };
  return (
    <div class={`value ${v.edited ? "edited" : ""}`}>
      <label for={`v-${v.path}`}>{v.meaning}<br /><small>{v.path}{v.range && `; ${v.range}`}</small></label>
      {v.shape === "choice" || v.shape === "switch" ? (
        <select id={`v-${v.path}`} value={text} onChange={(e) => void send((e.target as HTMLSelectElement).value)}>{(v.shape === "switch" ? ["true", "false"] : v.choices).map((c) => <option key={c}>{c}</option>)}</select>
      ) : <input id={`v-${v.path}`} type="text" value={text} onInput={(e) => set((e.target as HTMLInputElement).value)} onKeyDown={(e) => e.key === "Enter" && void send(text)} onBlur={() => text !== v.text && void send(text)} />}
      <small>{v.source && `source: ${v.source}; `}{v.where}{v.edited ? "; changed by you" : ""}</small><small class="num">{v.spread}</small>
      {bad && <span class="bad" role="alert">{bad}</span>}
    </div>
  );
}
