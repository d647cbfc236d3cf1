import { State } from "../api";
import { Empty, Mark, useData } from "../parts";
import { fresh, go, margins, save } from "../state";

type Data = { blockers: { mark: string; title: string; detail: string; action: string; do: string }[]; evidence: { label: string; value: string }[]; logs: number };

export function ReleaseScreen() {
  const m = margins.value!;
  const { data: d, error } = useData<Data>("release", `${fresh.value} ${m.head.version}`);
  if (!d) return <Empty title="Not computed yet"><p>{error}</p></Empty>;
  const act = (what: string) => (what === "save" ? void save() : what.startsWith("part:") ? go("part", what.slice(5)) : what.startsWith("screen:") && go(what.slice(7)));
  return (
    <div class="cols s-release">
      <section aria-label="What stands in the way"><div class="head"><h2>{d.blockers.length ? "Not ready to release" : "Nothing stands in the way"}</h2><span class="note">{d.blockers.length ? `${d.blockers.length} ${d.blockers.length === 1 ? "thing stands" : "things stand"} in the way` : "a qualified person still reviews and signs"}</span><span class="end"><button type="button" class="btn" onClick={() => print()}>Print the verdict</button></span></div>
        <ul>{d.blockers.map((b) => <li key={b.title} style="display:grid;grid-template-columns:32px 1fr auto;gap:4px 8px;padding:9px 0;border-bottom:1px solid var(--line)"><span>{["over", "thin", "none"].includes(b.mark) ? <Mark state={b.mark as State} /> : b.mark === "look" ? <span class="thin bold" role="img" aria-label="look here">△</span> : <span role="img" aria-label="draft" style="display:inline-block;width:12px;height:12px;border:1.5px solid var(--ink2);background:linear-gradient(to top,var(--ink2) 50%,transparent 50%)" />}</span><span><b>{b.title}</b><br /><span style="font-size:12px;color:var(--ink2)">{b.detail}</span></span>{b.action ? <button type="button" class="link" onClick={() => act(b.do)}>{b.action}</button> : <span />}</li>)}</ul>
        <p class="gap"><button type="button" class="btn" disabled>Release</button> <span class="note">{d.blockers.length ? "opens when the list is empty" : "heatproof release on the command line makes the documents, as it lands"}</span></p></section>
      <section aria-label="Evidence"><h2>Evidence behind it</h2><table style="margin-top:6px"><tbody>{d.evidence.map((e) => <tr key={e.label}><td>{e.label}</td><td class="num bold">{e.value}</td></tr>)}</tbody></table>
        <h2 class="gap">What the check found</h2><ul>{m.head.findings.slice(0, 12).map((f) => <li key={f.what} style="padding:5px 0;border-bottom:1px solid var(--line);font-size:12px">{f.level === "note" ? "" : "△ "}{f.what}{f.next_step && <><br /><small>Next step: {f.next_step}{f.file ? ` (${f.file}${f.line ? `:${f.line}` : ""})` : ""}</small></>}</li>)}</ul></section>
    </div>
  );
}
