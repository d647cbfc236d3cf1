import { signal } from "@preact/signals";
import { units, wanted } from "./lib/units";
import { get, Margins, post, Refusal } from "./api";

export const margins = signal<Margins | null>(null);
export const screen = signal(location.hash.slice(2).split("/")[0] || "margins");
export const part = signal<string>(decodeURIComponent(location.hash.split("/")[2] ?? ""));
export const duty = signal<string>("");
export const problem = signal<Refusal | null>(null);
export const said = signal<string[]>([]);
export const lost = signal(false);
export const closed = signal(false);
export const finding = signal<string | null>(null);
export const help = signal(false);
export const tables = signal(false);
export const ramp = signal<Record<"light" | "dark", string[]>>({ light: [], dark: [] });
/** Counts full answers and background results: screens read it to know when to ask again. */
export const fresh = signal(0);
export const theme = signal<"light" | "dark">("light");

const stored = localStorage.getItem("theme");
const prefers = matchMedia("(prefers-color-scheme: dark)");
function paint(name: "light" | "dark") {
  theme.value = name;
  document.documentElement.dataset.theme = name;
}
paint(stored === "dark" || stored === "light" ? stored : prefers.matches ? "dark" : "light");
prefers.addEventListener("change", () => !localStorage.getItem("theme") && paint(prefers.matches ? "dark" : "light"));
export function flipTheme() {
  const next = theme.value === "dark" ? "light" : "dark";
  localStorage.setItem("theme", next);
  paint(next);
}

/** Every figure at once: all is asked for again in the other units. */
export function flipUnits() {
  wanted.value = wanted.value === "us" ? "metric" : "us";
  localStorage.setItem("units", wanted.value);
  void load();
}

export function go(name: string, key?: string) {
  if (key) part.value = key;
  location.hash = `/${name}` + (key ? `/${encodeURIComponent(key)}` : "");
}
addEventListener("hashchange", () => {
  const [, name, key] = location.hash.split("/");
  screen.value = name || "margins";
  if (key) part.value = decodeURIComponent(key);
  document.body.classList.remove("drawer");
});

export function select(key: string) {
  part.value = key;
}

function take(data: Margins) {
  const now = margins.value;
  // An answer that is older than what is on screen is dropped.
  const anew = now?.head.run !== data.head.run;
  if (now && !anew && data.head.version < now.head.version) return;
  if (anew && (now || data.head.notices.length)) said.value = data.head.notices.length ? data.head.notices : ["The program was started again; nothing waited to be saved"];
  const better = data.head.full && now?.head.answer !== data.head.answer;
  if (data.head.units.system !== wanted.value) return;
  if (data.head.units.system !== units.value.system) { units.value = data.head.units; fresh.value++; }
  margins.value = data;
  document.title = (data.head.edits.unsaved ? "● " : "") + `heatproof · ${data.head.project.folder}`;
  if (!part.value && data.rows.length) part.value = data.rows[0].part;
  if (better) fresh.value++;
}

let asking = false, again = false;
export async function load() {
  if (asking) { again = true; return; }
  asking = true;
  try {
    take(await get<Margins>("margins"));
    lost.value = false;
  } catch (error) {
    if (error instanceof Refusal) problem.value = error;
    else lost.value = true;
  } finally {
    asking = false;
    if (again) { again = false; void load(); }
  }
}

/** Edits go one after another; each names the version it was made on. */
let queue: Promise<unknown> = Promise.resolve();
/** While an edit is under way its own reply brings what is new; what the program tells meanwhile waits. */
let acting = 0, missed = false;
export function act(path: string, body: Record<string, unknown> = {}): Promise<boolean> {
  const run = queue.then(async () => {
    try {
      problem.value = null;
      acting++;
      const data = await post<Margins>(path, { version: margins.value?.head.version ?? 0, ...body });
      said.value = data.said ?? [];
      take(data);
      return true;
    } catch (error) {
      if (error instanceof Refusal) {
        problem.value = error;
        if (error.data.kind === "stale") await load();
      } else lost.value = true;
      return false;
    } finally {
      acting--;
      if (missed && !acting) { missed = false; void load(); }
    }
  });
  queue = run;
  return run;
}
export const fit = (name: string, on: boolean) => act("edit", on ? { fit: [name] } : { leave: [name] });
export const undo = () => act("undo");
export const redo = () => act("redo");
export const save = (keep = false) => act("save", { keep_mine: keep });

export function listen() {
  const source = new EventSource("api/events");
  let seen = "";
  source.onmessage = (event) => {
    const data = JSON.parse(event.data);
    lost.value = false;
    const m = margins.value;
    if (m && m.head.run === data.run && data.changed.join() !== m.head.changed.join()) margins.value = { ...m, head: { ...m.head, changed: data.changed } };
    if (m && (data.what !== m.head.progress.what || data.done !== m.head.progress.done))
      margins.value = { ...m, head: { ...margins.value!.head, progress: { ...m.head.progress, ...data } } };
    // While duties are being solved only the progress moves; all is asked for again when there is more to see.
    const told = `${data.run} ${data.version} ${data.answer} ${data.full && data.what === "measures" ? data.done : data.what}`;
    const known = m && m.head.run === data.run && m.head.version === data.version && m.head.answer === data.answer && !data.full;
    if (told !== seen && !known) { if (acting) missed ||= data.full; else void load(); }
    seen = told;
  };
  source.onerror = () => { lost.value = true; };
}
