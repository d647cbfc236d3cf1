import { useState } from "preact/hooks";
import { State } from "../api";
import { JobLine, useJobs } from "../jobs";
import { fixed } from "../lib/text";
import { U } from "../lib/units";
import { Empty, Mark, useData } from "../parts";
import { fresh, go, margins, save } from "../state";

type Item = { mark: string; title: string; detail: string; action: string; do: string };
type Paper = { name: string; revision: string; day: string; released: boolean; changed: string[]; files: { name: string; kind: string; bytes: number }[] };
type Data = { says: { title: string; text: string; mark: string }; blockers: Item[]; looks: Item[]; signed: { title: string; who: string; when: string; why: string }[]; evidence: { label: string; value: string }[]; papers: Paper[]; sheets: { reader: string; name: string; stale: boolean; files: Paper["files"] }[]; ready: boolean };
type Made = { released: boolean; title: string; text: string; files: string[]; fingerprint: string; changes: string[]; against: string };
const READER: Record<string, string> = { installer: "For the installer", customer: "For the customer", calibrator: "For the calibrator", cores: "For the core supplier", blankets: "For the blanket supplier" };
const KIND: Record<string, string> = { pdf: "PDF", html: "HTML", json: "Record" };

export function ReleaseScreen() {
  const m = margins.value!;
  const { running, bad, begin, stop, last } = useJobs();
  const job = last<Made>("release");
  const [with_, choose] = useState({ rating: true, sheets: true, tolerance: false });
  const { data: d, error } = useData<Data>("release", `${fresh.value} ${m.head.version} ${m.head.verdict.own_spread} ${job?.state}`);
  if (!d) return <Empty title="Not computed yet"><p>{error}</p></Empty>;
  const act = (what: string) => (what === "save" ? void save() : what.startsWith("part:") ? go("part", what.slice(5)) : what.startsWith("screen:") && go(what.slice(7)));
  const word = d.ready ? "Make the release" : "Make papers for review";
  return (
    <div class="cols s-release">
      <section aria-label="What a release would say">
        <div class={`says ${d.says.mark}`}><h2>{d.says.mark && <Mark state={d.says.mark as State} />} {d.says.title}</h2><p>{d.says.text}</p></div>
        <div class="head gap"><h2>{d.blockers.length ? `${d.blockers.length} ${d.blockers.length === 1 ? "thing stands" : "things stand"} in the way` : "Nothing stands in the way"}</h2><span class="note">{d.blockers.length ? "each to be mended or signed for" : "a qualified person still reviews and signs"}</span></div>
        <List items={d.blockers} act={act} />
        {d.looks.length > 0 && <><h2 class="gap">Look at before signing</h2><List items={d.looks} act={act} /></>}
        {d.signed.length > 0 && <><h2 class="gap">Signed for</h2><table><tbody>{d.signed.map((s) => <tr key={s.title}><td class="bold">{s.title}</td><td>{s.who}</td><td>{s.when}</td><td>{s.why}</td></tr>)}</tbody></table></>}
      </section>
      <section aria-label="Papers"><div class="head"><h2>Papers</h2><span class="note">PDF to sign, HTML to read, record to check by</span></div>
        <p class="note">Made from the saved files, with their fingerprints; kept in the project's releases folder. The first time takes minutes, as every measure is tried and the rating map worked out.</p>
        <div class="head" style="margin-top:8px"><button type="button" class="btn main" disabled={running || m.head.edits.unsaved || !m.head.full} onClick={() => void begin({ kind: "release", ...with_, units: U.us ? "us" : "metric" })}>{word}</button>{([["rating", "rating map"], ["sheets", "sheets"], ["tolerance", "what the installer may leave"]] as const).map(([key, text]) => <label class="note" key={key}><input type="checkbox" checked={with_[key]} disabled={key === "tolerance" && !with_.sheets} onChange={() => choose({ ...with_, [key]: !with_[key] })} /> {text}</label>)}{m.head.edits.unsaved && <button type="button" class="btn" onClick={() => void save()}>Save first<kbd>S</kbd></button>}</div>
        {bad && <p class="over" role="alert">{bad}</p>}
        <JobLine job={job} stop={stop} />
        {job?.result && <p style="margin-top:6px"><b>{job.result.title}.</b> {job.result.text}{job.result.against && ` Against ${job.result.against}: ${job.result.changes.length} changes, listed in the paper.`}</p>}
        {d.papers.length > 0 ? <table class="gap"><thead><tr><th scope="col">Revision</th><th scope="col">Day</th><th scope="col">State</th><th scope="col">Files</th></tr></thead><tbody>{d.papers.map((p) => (
          <tr key={p.name}><td>{p.revision}</td><td>{p.day}</td><td class={p.changed.length ? "thin bold" : ""}>{p.released ? "release" : "for review"}{p.changed.length ? <><br /><small>stale: {p.changed.slice(0, 3).join(", ")} changed since</small></> : <><br /><small>of the files as they are</small></>}</td>
            <td><Files files={p.files} /></td></tr>))}</tbody></table>
          : <p class="note gap">None made yet.</p>}
        {d.sheets.length > 0 && <><h3 class="gap">Sheets</h3><table><tbody>{d.sheets.map((s) => <tr key={s.name}><td>{READER[s.reader] ?? s.reader}</td><td><small>{s.name}</small></td><td class={s.stale ? "thin bold" : ""}>{s.stale ? "older than the files" : ""}</td><td><Files files={s.files} /></td></tr>)}</tbody></table></>}
        <p class="gap"><button type="button" class="btn" onClick={() => { go("margins"); setTimeout(() => print(), 400); }}>Print the verdict</button> <span class="note">one page, with lines to sign</span></p>
        <h2 class="gap">What the check found</h2><ul>{m.head.findings.slice(0, 12).map((f) => <li key={f.what} style="padding:5px 0;border-bottom:1px solid var(--line);font-size:12px">{f.level === "note" ? "" : "△ "}{f.what}{f.next_step && <><br /><small>Next step: {f.next_step}{f.file ? ` (${f.file}${f.line ? `:${f.line}` : ""})` : ""}</small></>}</li>)}</ul>
      </section>
      <aside class="side" aria-label="Evidence"><section><h2>Evidence behind it</h2><table style="margin-top:6px"><tbody>{d.evidence.map((e) => <tr key={e.label}><td>{e.label}</td><td class="num bold">{e.value}</td></tr>)}</tbody></table></section></aside>
    </div>
  );
}

function Files({ files }: { files: Paper["files"] }) {
  return <>{files.map((f) => <a key={f.name} class="link" style="margin-right:10px" href={`api/papers/${encodeURIComponent(f.name)}`} download={f.name}>{KIND[f.kind]} <small>{fixed(f.bytes / 1024)} kB</small></a>)}</>;
}

function List({ items, act }: { items: Item[]; act: (what: string) => unknown }) {
  return (
    <ul>{items.map((b) => <li key={b.title} class="item"><span>{["over", "thin", "none"].includes(b.mark) ? <Mark state={b.mark as State} /> : b.mark === "look" ? <span class="thin bold" role="img" aria-label="look here">△</span> : <span role="img" aria-label="draft" class="half" />}</span><span><b>{b.title}</b><br /><span style="font-size:12px;color:var(--ink2)">{b.detail}</span></span>{b.action ? <button type="button" class="link" onClick={() => act(b.do)}>{b.action}</button> : <span />}</li>)}</ul>
  );
}
