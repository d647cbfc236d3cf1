/** Rows to draw: two a pixel, lowest and highest, in order of time: a spike of one sample stays. */
export function picked(time: ArrayLike<number>, values: ArrayLike<number | null>, from: number, to: number, pixels: number): number[] {
  const a = lower(time, from), b = Math.min(time.length, lower(time, to) + 1), n = b - a;
  if (n <= 2 * pixels) return Array.from({ length: Math.max(n, 0) }, (_, k) => a + k);
  const rows: number[] = [];
  for (let p = 0; p < pixels; p++) {
    const i = a + Math.floor((p * n) / pixels), j = a + Math.floor(((p + 1) * n) / pixels);
    let low = -1, high = -1;
    for (let k = i; k < j; k++) {
      const x = values[k];
      if (x === null) continue;
      if (low < 0 || x < (values[low] as number)) low = k;
      if (high < 0 || x > (values[high] as number)) high = k;
    }
    if (low < 0) rows.push(i);
    else if (low === high) rows.push(low);
    else rows.push(Math.min(low, high), Math.max(low, high));
  }
  return rows;
}

/** Times and values of the rows to draw. */
export function decimate(time: ArrayLike<number>, values: ArrayLike<number | null>, from: number, to: number, pixels: number): [number[], (number | null)[]] {
  const rows = picked(time, values, from, to, pixels);
  return [rows.map((k) => time[k]), rows.map((k) => values[k])];
}

/** First index with time >= x. */
export function lower(time: ArrayLike<number>, x: number): number {
  let a = 0, b = time.length;
  while (a < b) { const m = (a + b) >> 1; if (time[m] < x) a = m + 1; else b = m; }
  return a;
}
