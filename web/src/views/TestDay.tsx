import { useRef, useState } from "preact/hooks";
import { upload } from "../api";
import { fixed } from "../lib/text";
import { Empty, useData } from "../parts";
import { margins, problem } from "../state";
import { shownRows } from "./Margins";
import { Channel, Span, Trace } from "./Traces";

type Listed = { logs: { name: string; bytes: number }[]; endings: string[] };
type Log = { name: string; channels: Channel[]; findings: { level: string; text: string }[]; span: Span };

export function TestDayScreen() {
  const m = margins.value!;
  const [stamp, again] = useState(0), [chosen, choose] = useState("");
  const { data: list } = useData<Listed>("logs", stamp);
  const name = chosen || list?.logs.at(-1)?.name || "";
  const { data: log, error, busy } = useData<Log>(name ? `logs/${encodeURIComponent(name)}` : null, stamp);
  const [span, setSpan] = useState<Span | null>(null), [shown, show] = useState<Record<string, boolean>>({});
  const waiting = useRef(0);
  const read = async (file?: File) => {
    if (!file) return;
    try { const r = await upload<{ name: string }>("logs", file); choose(r.name); again((n) => n + 1); } catch (e) { problem.value = e as never; }
  };
  const take = (s: Span | null) => { if (waiting.current) cancelAnimationFrame(waiting.current); waiting.current = requestAnimationFrame(() => { waiting.current = 0; setSpan(s); }); };
  const on = (c: Channel, k: number) => shown[c.column] ?? k < 4;
  const pick = <label class="btn">Read a log<input type="file" class="hidden" accept={list?.endings.join()} onChange={(e) => void read((e.target as HTMLInputElement).files?.[0])} /></label>;
  if (list && !list.logs.length) {
    const closest = shownRows(m, "").slice(0, 8);
    return (
      <div class="empty" style="max-width:720px"><h2>No test run is on file</h2><p>Read a log (CSV, Parquet or MDF 4) and its channels stand here with what they mean. It is kept in the project's logs folder and never changed.</p><p style="margin:12px 0">{pick}</p>
        <h2 class="gap">Closest parts, where a sensor says most</h2><table><thead><tr><th scope="col">Part</th><th scope="col" class="num">Margin, K</th><th scope="col" style="padding-left:18px">Duty</th><th scope="col">Hottest</th></tr></thead><tbody>{closest.map((r) => <tr key={r.part}><td>{r.title}</td><td class={`num ${r.state}`}>{r.margin_text} {r.half_text}</td><td style="padding-left:18px">{r.duty_name}</td><td>{r.when}</td></tr>)}</tbody></table></div>
    );
  }
  if (!list || !log) return <Empty title={error ? "The log could not be read" : "Reading"}><p>{error}</p>{error && <p>{pick}</p>}</Empty>;
  const all = span ?? log.span;
  return (
    <div class="cols" style="grid-template-columns:minmax(0,752fr) minmax(0,588fr)">
      <section aria-label="Traces"><div class="head"><h2>Measured</h2><span class="note">{log.name}; wheel zooms, drag picks a stretch, double click shows all{busy ? "; reading" : ""}</span><span class="end"><select aria-label="Log" value={name} onChange={(e) => { choose((e.target as HTMLSelectElement).value); setSpan(null); }}>{list.logs.map((l) => <option key={l.name}>{l.name}</option>)}</select>{pick}</span></div>
        {log.channels.filter(on).map((c) => <div class="trace" key={c.column}><div class="head" style="min-height:18px"><h3>{c.column}</h3><span class="note">{c.quantity}, {c.unit}</span></div><Trace c={c} span={all} onSpan={take} tall={140} /></div>)}
        <p class="note">Axis in minutes once past two, else seconds.</p></section>
      <section aria-label="Channels"><div class="head"><h2>Sensors</h2><span class="note">{log.channels.length} channels</span></div>
        <table><thead><tr><th scope="col">Drawn</th><th scope="col">Channel in file</th><th scope="col">Means</th><th scope="col" class="num">Hz</th><th scope="col" class="num">samples</th></tr></thead><tbody>{log.channels.map((c, k) => <tr key={c.column}><td><input type="checkbox" aria-label={`Draw ${c.column}`} checked={on(c, k)} onChange={() => show({ ...shown, [c.column]: !on(c, k) })} /></td><td>{c.column}</td><td class={c.quantity === "unknown" ? "thin bold" : ""}>{c.quantity === "unknown" ? "△ no name" : c.quantity}</td><td class="num">{fixed(c.rate, c.rate < 10 ? 1 : 0)}</td><td class="num">{fixed(c.samples)}</td></tr>)}</tbody></table>
        {log.findings.length > 0 && <><h2 class="gap">What reading it found</h2><ul>{log.findings.map((f) => <li key={f.text} style="padding:4px 0;border-bottom:1px solid var(--line);font-size:12px">{f.level === "warn" ? "△ " : ""}{f.text}</li>)}</ul></>}
        <p class="note gap">Laying a log over the prediction and correcting values by it: <b>heatproof log</b> and <b>heatproof correct</b> on the command line, as they land.</p></section>
    </div>
  );
}
