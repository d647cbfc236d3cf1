/** Labels put where they stand on nothing else. Widths are estimated: 6.1 px a character at 11 px. */
export type Rect = { x: number; y: number; w: number; h: number };
export type Label = { key: string; lines: string[]; /** Corners (left, top) to try, best first. */ at: [number, number][] };
export type Placed = Label & Rect;

export const LINE = 12;
export const wide = (lines: string[], char = 6.1) => Math.max(...lines.map((l) => l.length)) * char;
export const overlap = (a: Rect, b: Rect, gap = 0) => Math.max(0, Math.min(a.x + a.w, b.x + b.w) - Math.max(a.x, b.x) + gap) * Math.max(0, Math.min(a.y + a.h, b.y + b.h) - Math.max(a.y, b.y) + gap);

/** One after another, each at its first free corner, else at the one with least under it. fixed: what labels keep clear of. */
export function place(labels: Label[], fixed: Rect[], room: Rect): Placed[] {
  const done: Placed[] = [], taken = [...fixed];
  for (const l of labels) {
    const w = wide(l.lines), h = l.lines.length * LINE;
    const cost = ([x, y]: [number, number]) => {
      const out = x < room.x || y < room.y || x + w > room.x + room.w || y + h > room.y + room.h ? 1e5 : 0;
      return taken.reduce((s, r) => s + overlap({ x, y, w, h }, r, 2), out);
    };
    let best = l.at[0], least = Infinity;
    for (const at of l.at) { const c = cost(at); if (c < least - 1) { best = at; least = c; } if (least < 1) break; }
    const one = { ...l, x: best[0], y: best[1], w, h };
    done.push(one);
    taken.push(one);
  }
  return done;
}

/** A title in at most `most` lines of about `chars`. */
export function broken(title: string, chars: number, most = 2): string[] {
  const lines = title.split(" ").reduce<string[]>((l, w) => { if (l.length && (l.at(-1)! + " " + w).length <= chars) l[l.length - 1] += " " + w; else l.push(w); return l; }, []);
  return lines.length > most ? [...lines.slice(0, most - 1), lines.slice(most - 1).join(" ").slice(0, chars - 1) + "…"] : lines;
}
