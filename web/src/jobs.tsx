import { useEffect, useState } from "preact/hooks";
import { get, post, remove } from "./api";
import { clock } from "./lib/text";
import { units } from "./lib/units";

/** Long work: one at a time; it runs beside everything else and stops when told. */
export type Job<T> = { units?: string; id: number; kind: string; state: string; done: number; steps: number; detail: string; seconds: number; seconds_left: number | null; error: null | { what: string; findings?: { what: string; next_step: string; got: string }[] }; version: number; result: T | null };

export function useJobs() {
  const [jobs, set] = useState<Job<unknown>[]>([]), [bad, setBad] = useState("");
  // A job that is over does not change: what was read of it stays the same object, so that nothing is drawn anew.
  const look = () => get<{ jobs: Job<unknown>[] }>("jobs").then((d) => set((now) => d.jobs.map((j) => now.find((k) => k.id === j.id && k.state === j.state && j.state !== "running" && k.units === units.value.system) ?? { ...j, units: units.value.system })), () => undefined);
  const running = jobs.some((j) => j.state === "running");
  useEffect(() => { void look(); const t = setInterval(() => void look(), running ? 700 : 5000); return () => clearInterval(t); }, [running, units.value.system]);
  return {
    running, bad, list: jobs,
    begin: (body: Record<string, unknown>) => post("jobs", body).then(() => { setBad(""); return look(); }, (e) => setBad([e.data?.findings?.[0]?.what ?? e.message, e.data?.findings?.[0]?.next_step ?? e.data?.next_step].filter(Boolean).join("; "))),
    stop: (id: number) => remove(`jobs/${id}`).then(look),
    last: <T,>(kind: string) => ([...jobs].reverse().find((j) => j.kind === kind) as Job<T> | undefined) ?? null,
  };
}

export function JobLine({ job, stop }: { job: Job<unknown> | null; stop: (id: number) => unknown }) {
  if (!job) return null;
  if (job.state === "running") return <p class="head"><progress max={job.steps || 1} value={job.steps ? job.done : undefined} aria-label="progress" style="width:160px" /> <span class="note">{job.steps ? `${job.done} of ${job.steps}` : job.done ? `${job.done} runs` : "beginning"}{job.detail && `, ${job.detail}`}{job.seconds_left ? `, about ${clock(job.seconds_left)} left` : `, ${clock(job.seconds)} so far`}</span><button type="button" class="btn" onClick={() => void stop(job.id)}>Stop</button></p>;
  if (job.state === "stopped") return <p class="note">Stopped; nothing was changed.</p>;
  if (job.error) return <p class="over" role="alert">{[job.error.findings?.[0]?.what ?? job.error.what, job.error.findings?.[0]?.next_step].filter(Boolean).join("; ")}. Nothing was written.</p>;
  return null;
}
