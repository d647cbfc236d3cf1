/** Labels put where they stand on nothing else. Widths are estimated: 6.1 px a character at 11 px. */
export type Rect = { x: number; y: number; w: number; h: number; /** How bad it is to stand on, a plain thing being 1. */ bad?: number };
export type Label = { key: string; lines: string[]; /** Corners (left, top) to try, best first. */ at: [number, number][]; /** Left out where it would stand on more than that, px². */ most?: number };
export type Placed = Label & Rect;

export const LINE = 12;
export const wide = (lines: string[], char = 6.1) => Math.max(...lines.map((l) => l.length)) * char;
export const overlap = (a: Rect, b: Rect, gap = 0) => Math.max(0, Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x) + gap) * Math.max(0, Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y) + gap);

/** Corners round a point, near ones first: right, left, above, below, then further out; `room` px clear of it. */
export function round([x, y]: [number, number], w: number, h: number, room: number, rings = 3): [number, number][] {
  const found: [number, number][] = [];
  for (let k = 0; k < rings; k++) {
    const r = room + k * 9;
    found.push([x - w / 2, y - r - h], [x - w / 2, y + r], [x + r, y - h / 2], [x - r - w, y - h / 2], [x + r * 0.6, y - r * 0.7 - h], [x + r * 0.6, y + r * 0.7], [x - r * 0.6 - w, y - r * 0.7 - h], [x - r * 0.6 - w, y + r * 0.7]);
  }
  return found;
}

/** Small squares along a drawn line, so that labels keep clear of it. */
export function along(at: (t: number) => number[], thick: number, bad = 1): Rect[] {
  const size = Math.max(thick + 2, 5), ends = [at(0), at(0.5), at(1)];
  const long = Math.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]) + Math.hypot(ends[2][0] - ends[1][0], ends[2][1] - ends[1][1]);
  const n = Math.max(2, Math.ceil(long / size));
  return Array.from({ length: n + 1 }, (_, k) => { const [x, y] = at(k / n); return { x: x - size / 2, y: y - size / 2, w: size, h: size, bad }; });
}

/** One after another, each at its first free corner, else at the one with least under it. fixed: what labels keep clear of. */
export function place(labels: Label[], fixed: Rect[], room: Rect): Placed[] {
  const done: Placed[] = [], taken = [...fixed];
  for (const l of labels) {
    const w = wide(l.lines), h = l.lines.length * LINE;
    const cost = ([x, y]: [number, number]) => {
      const out = x < room.x || y < room.y || x + w > room.x + room.w || y + h > room.y + room.h ? 1e5 : 0;
      return taken.reduce((s, r) => s + (r.bad ?? 1) * overlap({ x, y, w, h }, r, 2), out);
    };
    let best = l.at[0], least = Infinity;
    for (const at of l.at) { const c = cost(at); if (c < least - 1) { best = at; least = c; } if (least < 1) break; }
    if (least > (l.most ?? Infinity)) continue;
    const one = { ...l, x: best[0], y: best[1], w, h };
    done.push(one);
    taken.push({ ...one, bad: 3 });
  }
  return done;
}

/** A title in at most `most` lines of about `chars`. */
export function broken(title: string, chars: number, most = 2): string[] {
  const lines = title.split(" ").reduce<string[]>((l, w) => { if (l.length && (l.at(-1)! + " " + w).length <= chars) l[l.length - 1] += " " + w; else l.push(w); return l; }, []);
  return lines.length > most ? [...lines.slice(0, most - 1), lines.slice(most - 1).join(" ").slice(0, chars - 1) + "…"] : lines;
}
