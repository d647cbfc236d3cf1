import { useEffect, useState } from "preact/hooks";
import { get, post, Refusal } from "./api";
import { Mark } from "./parts";

type Start = { open: boolean; root: string; projects: string[]; examples: { name: string; about: string; duties: number }[]; cautions: string[] };

/** First run: open a project or start from an example. */
export function First({ onOpen }: { onOpen: () => void }) {
  const [s, set] = useState<Start | null>(null), [name, setName] = useState(""), [bad, setBad] = useState(""), [busy, setBusy] = useState(false);
  useEffect(() => void get<Start>("start").then((x) => { set(x); setName(free(x)); }), []);
  if (!s) return <main class="first"><h1>Opening</h1></main>;
  const begin = async (example: string, folder: string) => {
    setBusy(true); setBad("");
    try { await post("start", { example, folder }); onOpen(); } catch (e) { const f = e instanceof Refusal ? e.data.findings?.[0] : null; setBad(f ? [f.what, f.allowed && `allowed: ${f.allowed}`, f.next_step].filter(Boolean).join("; ") : String((e as Error).message)); } finally { setBusy(false); }
  };
  return (
    <main class="first">
      <span class="logo" style="font-size:18px"><Mark state="thin" size={1.6} /> heatproof</span>
      <h1>Open a project or start from an example</h1>
      {bad && <p class="over" role="alert">{bad}. Nothing was written.</p>}
      <label class="field">New folder in {s.root} <input type="text" value={name} onInput={(e) => setName((e.target as HTMLInputElement).value)} /></label>
      {s.examples.map((x) => <button type="button" class="choice" key={x.name} disabled={busy} onClick={() => void begin(x.name, name)}><b>{x.name}</b><span class="note">{x.duties} duties, invented</span><span style="grid-column:1/-1;color:var(--ink2);font-size:12px">{x.about}</span></button>)}
      {s.projects.length > 0 && <h2 class="gap">Projects in {s.root}</h2>}
      {s.projects.map((p) => <button type="button" class="choice" key={p} disabled={busy} onClick={() => void begin("", p)}><b>{p}</b><span class="gain">Open</span></button>)}
      <p class="note gap">{s.cautions.join(" ")}</p>
    </main>
  );
}

function free(s: Start): string {
  const base = s.examples[0]?.name ?? "project";
  for (let k = 1; ; k++) { const n = k === 1 ? base : `${base} ${k}`; if (!s.projects.includes(n)) return n; }
}
