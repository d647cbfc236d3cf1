import { signal } from "@preact/signals";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { get, post, upload } from "../api";
import { useJobs } from "../jobs";
import { fixed } from "../lib/text";
import { U } from "../lib/units";
import { Empty, Seg, useData } from "../parts";
import { fresh, margins, problem, said } from "../state";
import { shownRows } from "./Margins";
import { Plan } from "./Plan";
import { AXIS, Line, RIGHT, Span, Trace } from "./Traces";
import { Against, Trials } from "./Trials";

type Listed = { logs: { name: string; bytes: number }[]; endings: string[] };
export type Channel = { column: string; quantity: string; unit: string; file_unit: string; rate: number; samples: number; dropped: number; place: string; sensor: string; time_constant_s: number };
type Event_ = { kind: string; start: number; end: number; when: string; length: string; most: string };
export type Log = {
  name: string; map: string; channels: Channel[]; findings: { level: string; text: string }[]; dropped: { column: string; step: string; count: number; why: string }[]; span: Span; events: Event_[];
  figures: { name: string; text: string; standing: string; notes: string }[]; quantities: { key: string; label: string }[]; places: { place: string; title: string }[];
};
const KIND: Record<string, string> = { pull: "var(--accent)", idle: "var(--line2)", soak: "var(--thin)", stop: "var(--ink3)", "before start": "var(--line2)", steady: "var(--edge)" };
/** What stands at the left once there is a log; kept while other screens are looked at. */
const left = signal<"measured" | "plan">("measured");

/** What is drawn before anybody has chosen: speed, then temperatures, four in all. */
function usually(channels: Channel[]): Set<string> {
  const speed = channels.find((c) => c.quantity === "vehicle_speed") ?? channels.find((c) => c.quantity === "engine_speed");
  const warm = channels.filter((c) => c.unit === U.degree && c.quantity !== "ambient_temperature");
  return new Set([...(speed ? [speed] : []), ...warm, ...channels].slice(0, 4).map((c) => c.column));
}

export function TestDayScreen() {
  const m = margins.value!;
  const [stamp, again] = useState(0), [chosen, choose] = useState("");
  const { data: list } = useData<Listed>("logs", stamp);
  const name = chosen || list?.logs.at(-1)?.name || "";
  const { data: log, error, busy } = useData<Log>(name ? `logs/${encodeURIComponent(name)}` : null, `${stamp} ${U.degree} ${fresh.value > 0}`);
  const [span, setSpan] = useState<Span | null>(null), [shown, show] = useState<Record<string, boolean>>({});
  const jobs = useJobs();
  const laid = jobs.last<Against>("against")?.result;
  const over = new Map((laid?.log === name ? laid.channels : []).map((c) => [c.column, c]));
  const waiting = useRef(0);
  const read = async (file?: File) => {
    if (!file) return;
    try { const r = await upload<{ name: string }>("logs", file); choose(r.name); setSpan(null); again((n) => n + 1); } catch (e) { problem.value = e as never; }
  };
  const take = (s: Span | null) => { if (waiting.current) cancelAnimationFrame(waiting.current); waiting.current = requestAnimationFrame(() => { waiting.current = 0; setSpan(s); }); };
  const usual = useMemo(() => usually(log?.channels ?? []), [log]);
  const on = (c: Channel) => shown[c.column] ?? (over.size ? over.has(c.column) : usual.has(c.column));
  const drawn = log && log.name === name ? log.channels.filter(on).map((c) => c.column).slice(0, 12) : [];
  const traces = useTraces(name, `${stamp} ${U.degree}`, drawn);
  const pick = <label class="btn">Read a log<input type="file" class="hidden" accept={list?.endings.join()} onChange={(e) => void read((e.target as HTMLInputElement).files?.[0])} /></label>;
  const rename = async (c: Channel, what: Partial<Channel>) => {
    try { await post(`logs/${encodeURIComponent(name)}/channels`, { rows: [{ column: c.column, ...what }] }); said.value = [`Kept in logs/${log!.map}; the log itself stays as it is`]; again((n) => n + 1); } catch (e) { problem.value = e as never; }
  };
  // The right column does not hang on the stretch shown: kept as it is while the traces are zoomed.
  const right = useMemo(() => log && list && (
      <section aria-label="Channels"><div class="head"><h2>Sensors</h2><span class="note">{log.channels.length} channels; name a channel and where it sits</span></div>
        <table class="channels"><thead><tr><th scope="col">Drawn</th><th scope="col">Channel in file</th><th scope="col">Means</th><th scope="col">Sits at</th><th scope="col" class="num">Hz</th><th scope="col" class="num">dropped</th></tr></thead><tbody>{log.channels.map((c) => (
          <tr key={c.column}><td><input type="checkbox" aria-label={`Draw ${c.column}`} checked={on(c)} onChange={() => show({ ...shown, [c.column]: !on(c) })} /></td><td>{c.column}<br /><small>{c.file_unit || "no unit"}{c.sensor && `, ${c.sensor}`}</small></td>
            <td><span class="pair">{c.quantity === "unknown" && <span class="thin bold" role="img" aria-label="look here">△</span>}<select aria-label={`What ${c.column} means`} value={c.quantity} onChange={(e) => { const q = (e.target as HTMLSelectElement).value; void rename(c, { quantity: q === "unknown" ? "" : q }); }}><option value="unknown">no name</option>{log.quantities.map((q) => <option key={q.key} value={q.key}>{q.label}</option>)}</select></span></td>
            <td>{c.unit === U.degree && <select aria-label={`Where ${c.column} sits`} value={c.place} onChange={(e) => void rename(c, { place: (e.target as HTMLSelectElement).value })}><option value="">usual place</option>{c.place && !log.places.some((p) => p.place === c.place) && <option>{c.place}</option>}{log.places.map((p) => <option key={p.place} value={p.place}>{p.title}</option>)}</select>}</td>
            <td class="num">{fixed(c.rate, c.rate < 10 ? 1 : 0)}</td><td class="num" title={log.dropped.filter((d) => d.column === c.column).map((d) => `${d.count}: ${d.why}`).join("; ")}>{c.dropped ? fixed(c.dropped) : ""}</td></tr>))}</tbody></table>
        <Trials name={name} names={list.logs.map((l) => l.name)} jobs={jobs} />
        {log.figures.length > 0 && <><div class="head gap"><h2>What it reduces to</h2><span class="note">± one standard deviation of the mean</span></div><table><tbody>{log.figures.map((f) => <tr key={f.name}><td>{f.name}{f.notes && <><br /><small>{f.notes}</small></>}</td><td class="num bold">{f.text}</td><td class={f.standing === "valid" ? "" : "then thin bold"}>{f.standing === "valid" ? "" : `△ ${f.standing}`}</td></tr>)}</tbody></table></>}
        <Findings found={log.findings} /></section>
  ), [log, list, shown, laid, name, jobs.list, jobs.bad, m.head.version, m.head.full, m.head.edits.unsaved, U.degree]);
  if (list && !list.logs.length) {
    const closest = shownRows(m, "").slice(0, 8);
    return (
      <div class="cols s-test"><Plan jobs={jobs} />
        <section aria-label="Logs"><div class="head"><h2>No test run is on file</h2><span class="end">{pick}</span></div><p>Read a log (CSV, Parquet or MDF 4) and its channels stand here with what they mean. It is kept in the project's logs folder and never changed.</p>
          <h2 class="gap">Closest parts, where a sensor says most</h2><table><thead><tr><th scope="col">Part</th><th scope="col" class="num">Margin, {U.step}</th><th scope="col" style="padding-left:18px">Duty</th><th scope="col">Hottest</th></tr></thead><tbody>{closest.map((r) => <tr key={r.part}><td>{r.title}</td><td class={`num ${r.state}`}>{r.margin_text} {r.half_text}</td><td style="padding-left:18px">{r.duty_name}</td><td>{r.when}</td></tr>)}</tbody></table></section></div>
    );
  }
  const logs = list && list.logs.length > 1 && <select aria-label="Log" value={name} onChange={(e) => { choose((e.target as HTMLSelectElement).value); setSpan(null); show({}); }}>{list.logs.map((l) => <option key={l.name}>{l.name}</option>)}</select>;
  // What stands of another log is not shown under this one's name; a log that cannot be read leaves the others open.
  if (!list || !log || log.name !== name) return <Empty title={error && !busy ? `${name || "The log"} could not be read` : `Reading ${name}`}><p>{!busy && error}</p><p class="pair">{logs}{!busy && error && pick}</p></Empty>;
  const all = span ?? log.span;
  const which = <Seg label="At the left" items={[["measured", "Measured"], ["plan", "Plan"]]} value={left.value} onPick={(v) => { left.value = v; }} />;
  return (
    <div class="cols s-test">
      {left.value === "plan" ? <Plan jobs={jobs} head={which} /> : <section aria-label="Traces"><div class="head"><h2>Measured</h2><span class="note">wheel zooms, drag picks a stretch, double click shows all{busy ? "; reading" : ""}</span><span class="end">{which}{logs}{pick}</span></div>
        <Events log={log} span={all} onSpan={take} />
        {drawn.map((column) => { const p = overLine(over.get(column)), c = p ?? traces.get(column); return c && <div class="trace" key={column}><div class="head" style="min-height:18px"><h3>{column}</h3><span class="note">{c.unit || "ratio"}{p && <> · measured <b style="color:var(--ink)">━</b> predicted <b style="color:var(--accent)">╌</b> with its band; off by {over.get(column)!.off} {U.step}{p.limit != null && <> · limit <b style="color:var(--ink)">{fixed(p.limit)} {U.degree}</b>, the level line where it is near</>}</>}</span></div><Trace c={c} span={all} onSpan={take} tall={140} /></div>; })}
        <p class="note">Cleaned values over time; the file stays as it is.</p></section>}
      {right}
    </div>
  );
}

/** Warnings; what was simply recognised is folded away. */
function Findings({ found }: { found: Log["findings"] }) {
  const warned = found.filter((f) => f.level === "warning"), rest = found.filter((f) => f.level !== "warning");
  if (!found.length) return null;
  const row = (f: Log["findings"][number]) => <li key={f.text} style="padding:4px 0;border-bottom:1px solid var(--line);font-size:12px">{f.level === "warning" ? "△ " : ""}{f.text}</li>;
  return <><h2 class="gap">What reading it found</h2><ul>{warned.map(row)}</ul>{rest.length > 0 && <details style="margin-top:6px"><summary class="note">{rest.length} more, recognised without doubt</summary><ul>{rest.map(row)}</ul></details>}</>;
}

/** A probe as a line with its prediction; made once, so that the plot is not built anew at every look. */
const lines = new WeakMap<object, Line>();
function overLine(p?: Against["channels"][number]): Line | undefined {
  if (!p) return undefined;
  if (!lines.has(p)) lines.set(p, { column: p.column, unit: U.degree, time: p.time, values: p.measured, predicted: p.predicted, half: p.half, limit: p.limit });
  return lines.get(p);
}

/** Traces asked for once each; those of another log, or of names given since, are dropped. */
function useTraces(name: string, stamp: string, columns: string[]): Map<string, Line> {
  const kept = useRef({ of: "", found: new Map<string, Line>() });
  const [, draw] = useState(0);
  const of = `${name} ${stamp}`;
  if (kept.current.of !== of) kept.current = { of, found: new Map() };
  useEffect(() => {
    const missing = columns.filter((c) => !kept.current.found.has(c));
    if (!name || !missing.length) return;
    void get<{ traces: Line[] }>(`logs/${encodeURIComponent(name)}/traces?${missing.map((c) => `column=${encodeURIComponent(c)}`).join("&")}`).then((d) => {
      if (kept.current.of !== of) return;
      for (const t of d.traces) kept.current.found.set(t.column, t);
      draw((n) => n + 1);
    }, () => undefined);
  }, [of, columns.join("\n")]);
  return kept.current.found;
}

/** Pulls, idles, soaks on the axis of the traces, steady stretches on a line of their own; a click shows one. */
function Events({ log, span, onSpan }: { log: Log; span: Span; onSpan: (s: Span) => void }) {
  if (!log.events.length) return <p class="note">No pull, idle, soak or steady stretch was found in it.</p>;
  const count: Record<string, number> = {};
  for (const e of log.events) count[e.kind] = (count[e.kind] ?? 0) + 1;
  const words = (k: string, n: number) => (k === "steady" ? `${n} steady stretch${n > 1 ? "es" : ""} (lower line)` : `${n} ${k}${n > 1 && k !== "before start" ? "s" : ""}`);
  const x = (t: number) => Math.max(0, Math.min(100, ((t - span[0]) / (span[1] - span[0])) * 100));
  return (
    <div style="margin:4px 0 8px"><p class="note">{Object.entries(count).map(([k, n]) => words(k, n)).join(", ")}</p>
      <div class={count.steady ? "events two" : "events"} style={`margin:0 ${RIGHT}px 0 ${AXIS}px`}>{log.events.filter((e) => e.end > span[0] && e.start < span[1]).map((e) => <button type="button" class={e.kind === "steady" ? "steady" : ""} key={`${e.kind} ${e.start}`} aria-label={`${e.kind} at ${e.when}, ${e.length} long${e.most && `, ${e.most}`}`} title={`${e.kind} at ${e.when}, ${e.length} long${e.most && `; ${e.most}`}`} style={`left:${x(e.start)}%;width:max(${x(e.end) - x(e.start)}%,3px);background:${KIND[e.kind] ?? "var(--line2)"}`} onClick={() => { const room = Math.max(20, (e.end - e.start) * 0.25); onSpan([e.start - room, e.end + room]); }} />)}</div></div>
  );
}
