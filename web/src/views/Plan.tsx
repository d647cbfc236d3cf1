import { signal } from "@preact/signals";
import { ComponentChildren } from "preact";
import { post } from "../api";
import { Job, JobLine } from "../jobs";
import { U } from "../lib/units";
import { useData } from "../parts";
import { go, load, margins, save } from "../state";
import type { Jobs } from "./Trials";

type Asking = { missing: [string, string]; stopped: boolean; duties: { key: string; name: string; ambient: string }[]; places: { place: string; title: string }[] };
type Sensor = { number: number; place: string; title: string; kind: string; response: string; brings: string; left: string; there: boolean; mind: string[] };
type Reading = { number: number; title: string; peak: string; between: string; at: string; passes: string; fails: string };
type Planned = {
  sentence: string; day: string; bands: string; start: string; sensors: Sensor[]; others: { title: string; left: string }[];
  runs: { number: number; duty: string; length: string; left: string; how: string }[]; tests: { duty: string; rows: Reading[] }[];
  margins: { part: string; title: string; duty: string; before: string; after: string; sensor: number | null; undecided: boolean }[];
};
/** What was asked for last; kept while other screens are looked at. left: duties that cannot be driven. */
const asked = signal({ sensors: 6, runs: 4, ambient: "", places: [] as string[], left: [] as string[] });
const MOST = { sensors: 30, runs: 20 };

/** What to measure, where, in which runs, and what counts as pass: before any log is there, and beside one. */
export function Plan({ jobs, head }: { jobs: Jobs; head?: ComponentChildren }) {
  const m = margins.value!, a = asked.value, set = (some: Partial<typeof a>) => { asked.value = { ...a, ...some }; };
  const { data: may } = useData<Asking>("plan", `${m.head.answer} ${m.head.version} ${m.head.progress.what} ${U.degree}`);
  const job = jobs.last<Planned>("plan"), found = [...jobs.list].reverse().find((j) => j.kind === "plan" && j.state === "done") as Job<Planned> | undefined;
  const driven = may?.duties.filter((d) => !a.left.includes(d.key)) ?? [], missing = may && may.missing[0] ? may.missing : null;
  const title = (place: string) => may?.places.find((p) => p.place === place)?.title ?? place;
  const count = (key: "sensors" | "runs", label: string) => <label class="note">{label} <input type="number" min={1} max={MOST[key]} value={a[key]} onChange={(e) => { const t = e.target as HTMLInputElement, n = Math.round(Math.max(1, Math.min(MOST[key], Number(t.value) || 1))); t.value = String(n); set({ [key]: n }); }} /></label>;
  const begin = () => void jobs.begin({ kind: "plan", sensors: a.sensors, runs: a.runs, ambient: a.ambient.trim(), places: a.places.filter((p) => may!.places.some((k) => k.place === p)), duties: a.left.length ? driven.map((d) => d.key) : [] });
  const goOn = () => void post("background?on=true", {}).then(() => load());
  return (
    <section aria-label="Plan"><div class="head"><h2>Plan</h2><span class="note">which sensors, where, how many runs, and what counts as pass</span>{head && <span class="end">{head}</span>}</div>
      <div class="head plan-ask">{count("sensors", "New sensors, at most")}{count("runs", "Runs, at most")}<label class="note">Ambient of the day <input type="text" size={13} placeholder="each duty's own" value={a.ambient} onInput={(e) => set({ ambient: (e.target as HTMLInputElement).value })} /></label><span class="note">{U.us ? "e.g. 72 degF" : "e.g. 22 degC"}</span></div>
      {may && <>
        <div class="head plan-ask"><span class="note" id="plan-duties">Duties you can drive</span><span role="group" aria-labelledby="plan-duties" class="plan-duties">{may.duties.map((d) => <label class="note" key={d.key}><input type="checkbox" checked={!a.left.includes(d.key)} onChange={() => set({ left: a.left.includes(d.key) ? a.left.filter((k) => k !== d.key) : [...a.left, d.key] })} /> {d.name}, {d.ambient}</label>)}</span></div>
        <div class="head plan-ask"><label class="note">Has a sensor anyway <select value="" onChange={(e) => { const t = e.target as HTMLSelectElement; if (t.value) set({ places: [...a.places, t.value] }); t.value = ""; }}><option value="">add a place</option>{may.places.filter((p) => !a.places.includes(p.place)).map((p) => <option key={p.place} value={p.place}>{p.title}</option>)}</select></label>
          {a.places.length > 0 && <span class="chips" style="margin:0">{a.places.map((p) => <button type="button" key={p} aria-label={`Take out ${title(p)}`} title="Take out" onClick={() => set({ places: a.places.filter((k) => k !== p) })}>{title(p)} <span aria-hidden="true">×</span></button>)}</span>}</div></>}
      <div class="head plan-ask"><button type="button" class="btn main" disabled={jobs.running || !may || !!missing || !driven.length || m.head.edits.unsaved} onClick={begin}>{found ? "Plan again" : "Make the plan"}</button>
        {m.head.edits.unsaved && <button type="button" class="btn" onClick={() => void save()}>Save first<kbd>S</kbd></button>}
        {missing && may?.stopped && !jobs.running && <button type="button" class="btn" onClick={goOn}>Let it go on</button>}
        {missing ? <span class="note" role="status">Not yet: {missing[0]}; {missing[1]}{m.head.progress.what === "spreads" ? ` (${m.head.progress.done} of ${m.head.progress.steps} so far)` : ""}.</span> : may && !driven.length ? <span class="note" role="status">No duty is left to drive.</span> : null}</div>
      {jobs.bad && <p class="over" role="alert">{jobs.bad}</p>}
      <JobLine job={job?.state !== "done" ? job : null} stop={jobs.stop} />
      {!found?.result && <p class="note">Looks for the thermocouples and the runs that take most away from the margins in doubt: every value that they hang on is moved and the duties are solved again, which takes seconds to minutes.</p>}
      {found?.result && <Found job={found} p={found.result} old={found.version !== m.head.version} />}
    </section>
  );
}

function Found({ job, p, old }: { job: Job<Planned>; p: Planned; old: boolean }) {
  const open = p.margins.filter((r) => r.undecided);
  return (
    <>
      <div class="head plan-says"><p class="bold">{p.sentence}</p>{!old && <span class="end"><a class="btn" href={`api/jobs/${job.id}/card${U.us ? "?units=us" : ""}`} download="test-card.html">Test card</a></span>}</div>
      {old && <p class="thin bold">△ For the state before your last edit; plan again for its test card.</p>}
      <p class="note">{p.day}</p>
      <h3 class="gap">Sensors, in the order they help</h3>
      <table class="plan"><thead><tr><th scope="col">No.</th><th scope="col">Sits at</th><th scope="col">Kind</th><th scope="col" class="num">Response</th><th scope="col" class="num">Takes away</th><th scope="col" class="num">Left</th></tr></thead>
        <tbody><tr><td /><td colSpan={4}><small>Without a test</small></td><td class="num">{p.start}</td></tr>
          {p.sensors.map((s) => <tr key={s.number}><td>{s.number}</td><td>{s.title}<br /><small>{s.title === s.place ? "" : s.place}{s.there ? `${s.title === s.place ? "" : ", "}there anyway` : ""}</small></td><td>{s.kind}</td><td class="num">{s.response}</td><td class="num bold">{s.brings}</td><td class="num">{s.left}</td></tr>)}</tbody></table>
      <p class="note">Takes away, left: of the sum of the standard deviations of the margins in doubt, over all runs below.{p.others.length > 0 && ` Next best: ${p.others.slice(0, 3).map((o) => `${o.title} (${o.left} left with it)`).join(", ")}.`}</p>
      <h3 class="gap">Runs</h3>
      <table class="plan"><thead><tr><th scope="col">No.</th><th scope="col">Duty</th><th scope="col">Length</th><th scope="col" class="num">Left after it</th></tr></thead>
        <tbody>{p.runs.map((r) => <tr key={r.number}><td>{r.number}</td><td>{r.duty}{r.how && <><br /><small>{r.how}</small></>}</td><td style="white-space:nowrap">{r.length}</td><td class="num">{r.left}</td></tr>)}</tbody></table>
      <h3 class="gap">Margins in doubt</h3>
      <table><thead><tr><th scope="col">Part</th><th scope="col">Duty</th><th scope="col" class="num">Now</th><th scope="col" class="num">After the test</th><th scope="col" class="then">Then</th></tr></thead>
        <tbody>{p.margins.map((r) => <tr key={`${r.part} ${r.duty}`}><td><button type="button" class="link" style="padding:0;min-height:16px;font-weight:400" onClick={() => go("part", r.part)}>{r.title}</button><br /><small>{r.sensor ? `sensor ${r.sensor} sits on it` : "no sensor on it; told by the model once corrected"}</small></td><td>{r.duty}</td><td class="num">{r.before}</td><td class="num bold">{r.after}</td><td class={r.undecided ? "then thin bold" : "then"}>{r.undecided ? "△ undecided" : "decided"}</td></tr>)}</tbody></table>
      <p class="note">± two standard deviations. {open.length ? `Undecided: if ${open.length === 1 ? "it comes" : "they come"} out as predicted, the limit still lies within the band.` : "Decided: if they come out as predicted, the limit lies outside the band."}</p>
      <h3 class="gap">What counts as pass</h3>
      <table class="plan"><thead><tr><th scope="col">No.</th><th scope="col">Highest reading at</th><th scope="col" class="num">Expected</th><th scope="col" class="num">Between</th><th scope="col" class="num">At</th><th scope="col" class="num">Pass up to</th><th scope="col" class="num">Over from</th></tr></thead>
        {p.tests.map((t) => <tbody key={t.duty}><tr><th scope="rowgroup" colSpan={7} class="group">{t.duty}</th></tr>{t.rows.map((r) => <tr key={r.number}><td>{r.number}</td><td>{r.title}</td><td class="num">{r.peak}</td><td class="num">{r.between}</td><td class="num">{r.at}</td><td class="num bold">{r.passes}</td><td class="num">{r.fails}</td></tr>)}</tbody>)}</table>
      <p class="note">{p.bands}</p>
      <h3 class="gap">Mind</h3>
      <ul>{minded(p.sensors).map(([text, at]) => <li key={text} style="padding:4px 0;border-bottom:1px solid var(--line);font-size:12px"><b>{at.map((s) => `${s.number} ${s.title}`).join(", ")}.</b> {text}</li>)}</ul>
    </>
  );
}

/** What to mind, with the sensors that it goes for. */
function minded(sensors: Sensor[]): [string, Sensor[]][] {
  const found = new Map<string, Sensor[]>();
  for (const s of sensors) for (const text of s.mind) found.set(text, [...(found.get(text) ?? []), s]);
  return [...found];
}
