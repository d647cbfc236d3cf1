import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { get, Head } from "./api";
import { Find } from "./Find";
import { First } from "./First";
import { SourceCard } from "./Source";
import { U } from "./lib/units";
import { Mark } from "./parts";
import { finding, flipTheme, flipUnits, go, help, listen, load, lost, margins, part, problem, ramp, redo, said, save, screen, tables, theme, undo, act } from "./state";
import "./style.css";
import { AirScreen } from "./views/Air";
import { BayScreen } from "./views/Bay";
import { CompareScreen } from "./views/Compare";
import { LiquidsScreen } from "./views/Liquids";
import { MarginsScreen } from "./views/Margins";
import { PartScreen } from "./views/Part";
import { ReleaseScreen } from "./views/Release";
import { TestDayScreen } from "./views/TestDay";

const SCREENS: [string, string, () => preact.JSX.Element][] = [
  ["margins", "Margins", MarginsScreen], ["part", "Part", PartScreen], ["air", "Air", AirScreen], ["liquids", "Water and oil", LiquidsScreen],
  ["bay", "Bay", BayScreen], ["compare", "Compare", CompareScreen], ["test-day", "Test day", TestDayScreen], ["release", "Release", ReleaseScreen],
];
const KEYS = [["1 – 8", "screens"], ["/", "find a part, measure or value"], ["↑ ↓", "rows"], ["Enter", "open the part"], ["Space", "fit or leave out, on a measure"], ["Z, Shift Z", "undo, redo"], ["S", "save"], ["C", "compare"], ["← →", "time in the bay, Shift for ten"], ["P", "next peak in the bay"], ["V", "tables in place of drawings"], ["D", "right column, where it is folded away"], ["T", "light or dark"], ["U", "metric or US units"], ["?", "these keys"], ["K", "single keys off or on"]];
let single = localStorage.getItem("keys") !== "off";

function keys(e: KeyboardEvent) {
  const t = e.target as HTMLElement;
  const typing = (t instanceof HTMLInputElement && t.type !== "checkbox" && t.type !== "range") || t instanceof HTMLSelectElement;
  if (e.key === "Escape") { finding.value = null; help.value = false; }
  if (typing || e.ctrlKey || e.metaKey || e.altKey) return;
  const k = e.key.toLowerCase();
  if (k === "k") { single = !single; localStorage.setItem("keys", single ? "on" : "off"); said.value = [single ? "Single keys are on." : "Single keys are off; K turns them on again."]; }
  if (!single) return;
  if (/^[1-8]$/.test(k)) go(SCREENS[Number(k) - 1][0]);
  else if (k === "/") { e.preventDefault(); finding.value ??= ""; }
  else if (k === "z") void (e.shiftKey ? redo() : undo());
  else if (k === "s") void save();
  else if (k === "c") go("compare");
  else if (k === "v") tables.value = !tables.value;
  else if (k === "d") document.body.classList.toggle("drawer");
  else if (k === "t") flipTheme();
  else if (k === "u") flipUnits();
  else if (k === "?") help.value = !help.value;
  else if (k === "enter" && t.classList.contains("prow") && part.value) go("part", t.dataset.part ?? part.value);
}

/** What stands on every sheet that is printed: car, kit, revision, date, fingerprint, units, page, cautions. */
function useSheets(h: Head | undefined) {
  const text = h && [h.project.car, h.project.kit, h.project.revision, h.fingerprint, h.edits.unsaved, h.cautions.join(" "), U.degree].join("|");
  useEffect(() => {
    if (!h) return;
    const say = (t: string) => `"${t.replace(/[\\"]/g, "\\$&").replace(/[\n\r]+/g, " ")}"`;
    const put = () => sheet.replaceSync(`@page { size: A4; margin: 17mm 12mm 25mm;
      @top-left { content: ${say(`${h.project.car}. ${h.project.kit}, ${h.project.revision || "no revision"}${h.edits.unsaved ? ", with edits that are not saved" : ""}`)}; font: 600 8pt sans-serif; width: 62%; text-align: left; }
      @top-right { content: ${say(`${new Date().toISOString().slice(0, 10)} · files ${h.fingerprint} · ${U.degree}, ${U.step}`)}; font: 8pt sans-serif; width: 38%; text-align: right; }
      @bottom-left { content: ${say(`Cautions. ${h.cautions.join(" ")}`)}; font: 6.5pt/8pt sans-serif; width: 86%; text-align: left; vertical-align: top; padding-top: 3mm; }
      @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; width: 14%; text-align: right; vertical-align: top; padding-top: 3mm; } }`);
    put();
    addEventListener("beforeprint", put);
    return () => removeEventListener("beforeprint", put);
  }, [text]);
}
const sheet = new CSSStyleSheet();
document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];

function Page() {
  const [open, setOpen] = useState<boolean | null>(null);
  const begin = () => { setOpen(true); void load(); listen(); };
  useEffect(() => {
    void get<{ open: boolean }>("start").then((s) => (s.open ? begin() : setOpen(false)), () => (lost.value = true));
    void get<typeof ramp.value>("ramp").then((r) => { ramp.value = r; });
    addEventListener("keydown", keys);
  }, []);
  useEffect(() => { document.documentElement.style.setProperty("--ledger", ramp.value[theme.value][153] ?? ""); }, [ramp.value, theme.value]);
  useSheets(margins.value?.head);
  if (open === false) return <First onOpen={begin} />;
  const m = margins.value;
  if (!m) return <main><p>{problem.value ? problem.value.message : lost.value ? "The program does not answer; trying again." : "Opening"}</p></main>;
  const h = m.head, [, , Screen] = SCREENS.find(([key]) => key === screen.value) ?? SCREENS[0];
  const share = h.progress.steps ? h.progress.done / h.progress.steps : 0;
  return (
    <>
      <svg width="0" height="0" style="position:absolute" aria-hidden="true"><defs>
        <pattern id="hatch" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="4" height="4" fill="var(--page)" /><rect width="2" height="4" fill="var(--thin)" /></pattern>
        <pattern id="hatchgrey" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="4" height="4" fill="var(--panel)" /><rect width="1.4" height="4" fill="var(--ink3)" /></pattern></defs></svg>
      <header class="top">
        <span class="logo"><svg width="20" height="16" viewBox="0 0 20 16" aria-hidden="true"><path d="M1 2h9v3H1zM1 6.5h13v3H1zM1 11h6v3H1z" fill="var(--ledger, #cb7340)" /><path d="M17 1v14" stroke="var(--ink)" stroke-width="2" /></svg>heatproof</span>
        <span class="what" title={`${h.project.car} / ${h.project.kit} ${h.project.revision}`}><span class="kit">{h.project.kit}, </span><b>{h.project.revision || h.project.folder}</b>{h.edits.unsaved ? " ●" : ""}</span>
        <nav class="tabs" aria-label="Screens">{SCREENS.map(([key, title], k) => <a key={key} href={`#/${key}`} aria-current={key === screen.value ? "page" : undefined}><small aria-hidden="true">{k + 1}</small>{title}</a>)}</nav>
        <span class="say" style={lost.value ? "color:var(--over);font-weight:600" : h.full ? "" : "color:var(--accent);font-weight:600"}>{lost.value ? "Lost the program; trying again" : h.progress.text}</span>
        {h.progress.what !== "idle" && h.full && <button type="button" class="btn" title="Stop what runs in the background" onClick={() => void fetch("api/background?on=false", { method: "POST" }).then(() => load())}>Stop</button>}
        <button type="button" class="btn drawer-btn" onClick={() => document.body.classList.toggle("drawer")}>Details<kbd>D</kbd></button>
        <button type="button" class="btn" title="Metric or US units (U)" aria-label={`${U.degree}, change the units`} onClick={flipUnits}>{U.degree}</button>
        <button type="button" class="btn" disabled={!h.edits.undo} onClick={() => void undo()}>Undo<kbd>Z</kbd></button>
        <button type="button" class="btn" onClick={() => (finding.value = finding.value === null ? "" : null)}>Find<kbd>/</kbd></button>
      </header>
      <section class="verdict" aria-label="Verdict">
        <Mark state={h.verdict.state} size={1.6} />
        <div class="words"><h1 class={h.verdict.state} data-state={h.verdict.state} data-full={String(h.full)}>{h.verdict.title}</h1><p>{h.verdict.detail}{h.full && !h.whole ? "" : !h.full && !h.whole ? " Not every change is in the quick answer." : ""}</p></div>
        <dl class="figures">{h.figures.map((f, k) => <div key={f.label}>{k === h.figures.length - 1 && h.against.names.length > 0 ? <dt><select class="bare" aria-label="Compare with" value={h.against.name} onChange={(e) => void act("against", { name: (e.target as HTMLSelectElement).value })}><option value="">Against saved</option>{h.against.names.map((n) => <option key={n} value={n}>Against {n}</option>)}</select></dt> : <dt>{f.label}</dt>}<dd>{f.value} <span>{f.unit}</span></dd><dd class="n">{f.note}</dd></div>)}</dl>
        <span class="grow" style={`width:${h.full ? 0 : Math.max(4, share * 100)}%`} />
        <span class="hidden" role="status" aria-live="polite">{h.full ? h.verdict.title : ""}</span>
      </section>
      <Bands />
      {finding.value !== null && <Find key={finding.value} />}
      {help.value && <section class="find" aria-label="Keys"><div class="head"><h2>Keys</h2><span class="end"><button type="button" class="btn" onClick={() => (help.value = false)}>Close</button></span></div><table><tbody>{KEYS.map(([k, t]) => <tr key={k}><td class="bold">{k}</td><td>{t}</td></tr>)}</tbody></table></section>}
      <SourceCard />
      <main id={`screen-${screen.value}`}><Screen /></main>
      <footer class="cautions"><span class="on-screen"><b>Cautions.</b> {h.cautions.join(" ")} </span><b>Folder</b> {h.project.folder}, heatproof {h.program}. <a class="quiet" href="licences.txt">Licences of the libraries in this page</a>.<div class="signatures"><span>Lead engineer, date</span><span>Calibrator, date</span><span>Second reader, date</span></div></footer>
    </>
  );
}

function Bands() {
  const p = problem.value, m = margins.value!;
  const [lines, setLines] = useState<{ file: string; gone: boolean; lines: string[] }[] | null>(null);
  return (
    <>
      {m.head.failed && <div class="band" role="alert"><b>{m.head.failed.what}.</b> Next step: {m.head.failed.next_step}. The last good answer stays; nothing is lost.</div>}
      {m.head.changed.length > 0 && !(p?.data.kind === "changed on disk") && (
        <div class="band" role="alert"><div class="row"><span><b>{m.head.changed.join(", ")} changed on disk.</b> What is shown is for the files as they were read.{m.head.edits.unsaved ? " Your unsaved edits stay either way." : ""}</span>
          <button type="button" class="btn" onClick={() => void act("reread").then((done) => done && setLines(null))}>Read it again</button><button type="button" class="btn" onClick={() => void get<{ files: typeof lines }>("difference").then((d) => setLines(d.files))}>Show the difference</button></div>
          {lines?.map((f) => <pre key={f.file}>{f.file}{f.gone ? " is gone" : ""}{"\n"}{f.lines.join("\n")}</pre>)}</div>)}
      {p && (
        <div class="band" role="alert"><div class="row"><span><b>{p.data.what}.</b> {p.data.next_step && `Next step: ${p.data.next_step}.`}</span>
          {p.data.kind === "changed on disk" && <><button type="button" class="btn" onClick={() => void act("reread")}>Read it again</button><button type="button" class="btn" onClick={() => void save(true)}>Keep mine</button><button type="button" class="btn" onClick={() => void get<{ files: typeof lines }>("difference").then((d) => setLines(d.files))}>Show the difference</button></>}
          <button type="button" class="btn" style="margin-left:auto" onClick={() => { problem.value = null; setLines(null); }}>Close</button></div>
          {p.data.findings?.slice(0, 6).map((f) => <p key={f.what + f.path}>{f.file && `${f.file}${f.line ? `:${f.line}` : ""} `}{f.path && `(${f.path}) `}{f.what}{f.got && `; got ${f.got}`}{f.allowed && `; allowed: ${f.allowed}`}{f.nearest && `; nearest: ${f.nearest}`}{f.next_step && `; next step: ${f.next_step}`}</p>)}
          {lines?.map((f) => <pre key={f.file}>{f.file}{f.gone ? " is gone" : ""}{"\n"}{f.lines.join("\n")}</pre>)}
        </div>)}
      {said.value.length > 0 && <div class="band say2" role="status"><div class="row"><span>{said.value.join(". ")}.</span><button type="button" class="btn" style="margin-left:auto" onClick={() => (said.value = [])}>Close</button></div></div>}
    </>
  );
}

render(<Page />, document.getElementById("app")!);
