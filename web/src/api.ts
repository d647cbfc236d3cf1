import { Units, wanted } from "./lib/units";

/** The one door to the program. Every figure and text comes from there; the page only draws. */
export class Refusal extends Error {
  constructor(public status: number, public data: { what?: string; next_step?: string; kind?: string; findings?: Finding[]; files?: string[] }) {
    super(data.what ?? "refused");
  }
}
export type Finding = { level: string; what: string; file: string; line: number; path: string; got: string; allowed: string; nearest: string; next_step: string };

async function ask<T>(path: string, init?: RequestInit): Promise<T> {
  const reply = await fetch(`api/${path}${wanted.value === "us" ? `${path.includes("?") ? "&" : "?"}units=us` : ""}`, init);
  const data = await reply.json().catch(() => ({ what: `the program answered ${reply.status}` }));
  if (!reply.ok) throw new Refusal(reply.status, data.detail ? { what: typeof data.detail === "string" ? data.detail : "the request was not understood" } : data);
  return data as T;
}
export const get = <T>(path: string) => ask<T>(path);
export const post = <T>(path: string, body: unknown) =>
  ask<T>(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
export const remove = <T>(path: string) => ask<T>(path, { method: "DELETE" });
export function upload<T>(path: string, file: File): Promise<T> {
  const form = new FormData();
  form.append("file", file);
  return ask<T>(path, { method: "POST", body: form });
}
export const query = (items: Record<string, string | number | undefined | null>) => {
  const found = Object.entries(items).filter(([, v]) => v !== undefined && v !== null && v !== "");
  return found.length ? "?" + found.map(([k, v]) => `${k}=${encodeURIComponent(String(v))}`).join("&") : "";
};

export type State = "holds" | "thin" | "over" | "none";
export type Row = {
  part: string; title: string; duty: string; duty_name: string; state: State; margin: number; half: number | null; left: number; margin_text: string; half_text: string;
  peak: number; judged: number; limit: number; peak_text: string; judged_text: string; limit_text: string; rule_text: string; rule: string; when: string; time: number; saved: number | null; approx: boolean; sure: string; caution: string;
};
export type Head = {
  version: number; pulse: number; run: number; notices: string[]; changed: string[]; fingerprint: string; program: string; units: Units; full: boolean; answer: string; whole: boolean; failed: null | { what: string; next_step: string };
  project: { folder: string; car: string; kit: string; revision: string; currency: string; required: number };
  against: { name: string; names: string[] };
  edits: { unsaved: boolean; undo: number; redo: number; files: string[] };
  progress: { what: string; done: number; steps: number; detail: string; text: string };
  verdict: { state: State; title: string; detail: string; counts: Record<string, number>; has_spread?: boolean; own_spread?: boolean };
  figures: { label: string; value: string; unit: string; note: string }[];
  duties: { key: string; name: string; note: string }[];
  findings: Finding[]; cautions: string[];
};
export type MeasureRow = { name: string; title: string; fitted: boolean; changed: boolean; cost: string; mass: string; labour: string; cost_text: string; note: string; needs: string[]; excludes: string[] };
export type Amounts = { cost: string; mass: string; labour: string };
export type Margins = {
  head: Head; rows: Row[]; said?: string[]; gains: Record<string, Record<string, number>>;
  measures: { groups: { title: string; measures: MeasureRow[] }[]; fitted: number; count: number; currency: string; base: Amounts; total: Amounts };
  limits: { part: string; title: string; limit_text: string }[];
};
export type History = { part: string; title: string; duty: string; duty_name: string; time: number[]; value: number[]; peak: number; speed: number[]; key_off: number; duration: number; ambient: number; limits: { label: string; value?: number; values?: number[] }[] };
export type Buy = { measure: string; title: string; gain: number; gain_text: string; left_text: string; half_text: string; state: State; cost: string; labour: string; helps: string };
export type Part = {
  row: Row; history: History; limit: { text: string; source: string; where: string; path: string }; duties: { key: string; name: string; margin: number }[];
  ledger: { time_text: string; ambient: number; temperature: number; rise: number; rise_text: string; limit: number; judged: number; half: number | null; state: State; sum: number; change: number | null; rows: { cause: string; rise: number; share: number; change: number | null }[] };
  paths: { rows: { from: string; kind: string; heat: number; temperature: number }[]; in: number; out: number; stored: number; temperature: number };
  buys: Buy[]; spread: { rows: { path: string; title: string; half: number }[]; half: number | null; own: boolean; drawn: boolean }; closure: string;
};
export type Instant = { time: number; time_text: string; speed: number; rpm: number; running: boolean; words: string; fan: number };
export type DutyInfo = { key: string; name: string; duration: number; key_off: number; ambient: number };
export type AirNode = { id: string; title: string; kind: string; column: number; height: number; temperature: number; pressure: number | null };
export type AirLink = { name: string; title: string; from: string; to: string; kind: string; core: string | null; core_title: string; flow: number; back: boolean; flow_text: string; temperature: number; after: number; heat_text: string; letter: string };
export type Air = {
  duty: DutyInfo; instant: Instant; moments: { label: string; time: number }[]; nodes: AirNode[]; links: AirLink[]; balance: Record<string, string>;
  facts: Record<string, string>[]; gaps: { letter: string; name: string; title: string; area: string; now: string; still: string; back: boolean[]; path: string }[]; scale: { low: number; high: number }; ram: string;
};
export type LoopNode = { id: string; title: string; height: number; temperature: number; boils: number | null; left: number | null; tank: boolean };
export type LoopLine = { id: string; title: string; from: string; to: string; kind: string; core: string | null; flow: number; flow_text: string; moves: boolean; driven: boolean | null; temperature: number; path: string };
export type Loop = { nodes: LoopNode[]; lines: LoopLine[] };
export type Liquids = {
  duty: DutyInfo; instants: Instant[]; coolant: Loop[]; oil: Loop[]; further: { name: string; title: string; loops: Loop[]; pressure: string[] }[]; boil: { id: string; title: string; at: { temperature: number; boils: number }[]; left: number; left_text: string }[];
  judged: Row[]; pressure: string[]; scales: Record<string, { low: number; high: number }>; about: string;
};
export type BayPart = { part: string; title: string; shape: boolean; values: number[]; limit: number | null; most: number | null; limit_text: string; state: State | null; peak_time: number | null; before?: number[] };
export type HotSpot = { part: string; title: string; mean: number; peak: number; place: [number, number, number]; past: boolean; limit: number | null };
export type Shape = { part: string; title: string; wall: boolean; vertices: number[]; faces: number[] };
export type Bay = { before: string; duty: DutyInfo; time: number[]; parts: BayPart[]; peaks: number[]; scale: { low: number; high: number }; shapes: { parts: Shape[]; missing: { part: string; title: string }[]; failed: { title: string; what: string }[]; triangles: number } };
export type Column = { title: string; note: string; state: State; verdict: string; cost: string; mass: string; labour: string; power: string; worst: number; measure?: string; fits?: boolean; margins: Record<string, { margin: number; text: string; state: State }> };
export type Value = { path: string; key: string; shape: string; text: string; unit: string; range: string; choices: string[]; meaning: string; spread: string; source: string; where: string; file: string; file_path: string; edited: boolean };
