import { useState } from "preact/hooks";
import { post } from "../api";
import { Job, JobLine, useJobs } from "../jobs";
import { U } from "../lib/units";
import { go, margins, problem, said, save } from "../state";
import { Line } from "./Traces";

export type Probe = Line & { title: string; place: string; sensor: string; off: string; spread: string; later: string; of_doubt: string; state: string; peaks: string; measured: number[]; limit: number | null };
export type Against = { log: string; also: string[]; from: number; channels: Probe[]; figures: { label: string; value: string }[]; findings: { level: string; text: string }[]; ambient: string };
type Corrected = {
  logs: string[]; values: { path: string; title: string; before: string; after: string; interval: string; moved: string; left: string }[]; channels: { column: string; run: string; before: string; after: string; sensor: string }[];
  closest: { part: string; title: string; before: string; after: string; over: boolean }[]; undecided: { values: string[]; told: string; probe: string; left: string }[]; at_bound: string[]; unwritten: string; settled: boolean; solves: number;
};
export type Jobs = ReturnType<typeof useJobs>;
type DayOf = { ambient: string; sun: string; altitude: string };

/** The day that a log cannot tell, and the two works on it. */
export function Trials({ name, names, jobs }: { name: string; names: string[]; jobs: Jobs }) {
  const m = margins.value!;
  const [day, set] = useState<DayOf>({ ambient: "", sun: "0 W/m2", altitude: "0 m" }), [also, more] = useState("");
  const against = jobs.last<Against>("against"), correct = jobs.last<Corrected>("correct");
  const field = (key: keyof DayOf, label: string, hint: string) => <label class="note">{label} <input type="text" size={9} placeholder={hint} value={day[key]} onInput={(e) => set({ ...day, [key]: (e.target as HTMLInputElement).value })} /></label>;
  return (
    <section class="gap" aria-label="Measured over predicted"><div class="head"><h2>Measured over predicted</h2><span class="note">the logged drive through the model, as each probe would have shown it</span></div>
      <div class="head" style="margin:6px 0">{field("ambient", "Ambient", "from the log")}{field("sun", "Sun", "0 W/m2")}{field("altitude", "Altitude", "0 m")}
        {names.length > 1 && <label class="note">Other logger of the run <select value={also} onChange={(e) => more((e.target as HTMLSelectElement).value)}><option value="">none</option>{names.filter((n) => n !== name).map((n) => <option key={n}>{n}</option>)}</select></label>}</div>
      <div class="head"><button type="button" class="btn main" disabled={jobs.running || !m.head.full} onClick={() => void jobs.begin({ kind: "against", logs: also ? [name, also] : [name], ...day })}>Lay it over the prediction</button>
        <button type="button" class="btn" disabled={jobs.running || m.head.edits.unsaved || !m.head.full} onClick={() => void jobs.begin({ kind: "correct", logs: [name], ...day })}>Correct values by it</button>{m.head.edits.unsaved && <button type="button" class="btn" onClick={() => void save()}>Save first<kbd>S</kbd></button>}</div>
      {jobs.bad && <p class="over" role="alert">{jobs.bad}</p>}
      <JobLine job={against?.state !== "done" ? against : null} stop={jobs.stop} /><JobLine job={correct?.state !== "done" ? correct : null} stop={jobs.stop} />
      {against?.result && against.result.log === name && <Over a={against.result} old={against.version !== m.head.version} />}
      {correct?.result && correct.result.logs.includes(name) && <Corrections job={correct} c={correct.result} />}
    </section>
  );
}

function Over({ a, old }: { a: Against; old: boolean }) {
  return (
    <>
      <dl class="facts">{a.figures.map((f) => <div key={f.label}><dt>{f.label}</dt><dd>{f.value}</dd></div>)}</dl>
      {old && <p class="note">For the state before your last edit.</p>}
      <table><thead><tr><th scope="col">Probe, at</th><th scope="col" class="num">off by, {U.step}</th><th scope="col" class="num">spread</th><th scope="col" class="num">later by</th><th scope="col" class="num">peak, {U.degree}</th><th scope="col" class="num">of its doubt</th></tr></thead>
        <tbody>{a.channels.map((c) => <tr key={c.column}><td>{c.column}<br /><small>{c.title}; {c.sensor}</small></td><td class="num bold">{c.off}</td><td class="num">{c.spread}</td><td class="num">{c.later}</td><td class="num">{c.peaks}</td><td class={`num ${c.state === "look into it" ? "thin bold" : ""}`}>{c.state === "look into it" ? "△ " : ""}{c.of_doubt}</td></tr>)}</tbody></table>
      <p class="note">Off by: predicted less measured, so + is predicted too hot. Peak: measured / predicted. Of its doubt: 1 is as expected, from 3 on look into it. Ambient {a.ambient}.</p>
      {a.findings.filter((f) => f.level === "warning").slice(0, 6).map((f) => <p key={f.text} class="note">△ {f.text}</p>)}
    </>
  );
}

function Corrections({ job, c }: { job: Job<Corrected>; c: Corrected }) {
  const keep = async () => { try { const r = await post<{ file: string; next_step: string }>(`jobs/${job.id}/keep`, {}); said.value = [`Written: ${r.file}`, r.next_step]; } catch (e) { problem.value = e as never; } };
  return (
    <>
      <div class="head gap"><h2>Values corrected by {c.logs.join(", ")}</h2><span class="end"><button type="button" class="btn" disabled={!!c.unwritten} onClick={() => void keep()}>Keep in a new kit file</button></span></div>
      {c.unwritten && <p class="thin bold">△ Cannot be written into a kit file: {c.unwritten}.</p>}
      {!c.settled && <p class="thin bold">△ The fit did not settle; take it as a hint only.</p>}
      {c.at_bound.length > 0 && <p class="thin bold">△ At the end of what is allowed: {c.at_bound.join(", ")}.</p>}
      <table><thead><tr><th scope="col">Value</th><th scope="col" class="num">was</th><th scope="col" class="num">corrected</th><th scope="col" class="num">95 % interval</th><th scope="col" class="num">doubt left</th></tr></thead><tbody>{c.values.map((v) => <tr key={v.path}><td>{v.title}</td><td class="num">{v.before}</td><td class="num bold">{v.after}</td><td class="num">{v.interval}</td><td class="num">{v.left}</td></tr>)}</tbody></table>
      <div class="cols gap" style="grid-template-columns:1fr 1fr">
        <table><thead><tr><th scope="col">Probe</th><th scope="col" class="num">off before</th><th scope="col" class="num">after, {U.step}</th></tr></thead><tbody>{c.channels.map((r) => <tr key={`${r.column} ${r.run}`}><td>{r.column}</td><td class="num">{r.before}</td><td class="num bold">{r.after}</td></tr>)}</tbody></table>
        {c.closest.length > 0 && <table><thead><tr><th scope="col">Closest parts</th><th scope="col" class="num">left before</th><th scope="col" class="num">after, {U.step}</th></tr></thead><tbody>{c.closest.map((r) => <tr key={r.part}><td><button type="button" class="link" style="padding:0;min-height:16px;font-weight:400" onClick={() => go("part", r.part)}>{r.title}</button></td><td class="num">{r.before}</td><td class={`num bold ${r.over ? "over" : ""}`}>{r.after}</td></tr>)}</tbody></table>}</div>
      {c.undecided.length > 0 && <><h3 class="gap">What this test could not tell apart</h3><ul>{c.undecided.map((u) => <li key={u.values.join()} style="padding:3px 0;font-size:12px">{u.values.join(" with ")}: {u.told} told{u.probe && `; a thermocouple at ${u.probe} would leave ${u.left} of the doubt`}</li>)}</ul></>}
      <p class="note">Doubt left: share of the standard deviation declared before. kit.yaml stays as it is.</p>
    </>
  );
}
