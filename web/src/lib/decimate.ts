/** Two points a pixel, lowest and highest, in order of time: a spike of one sample stays. */
export function decimate(time: ArrayLike<number>, values: ArrayLike<number | null>, from: number, to: number, pixels: number): [number[], (number | null)[]] {
  const a = lower(time, from), b = Math.min(time.length, lower(time, to) + 1), n = b - a;
  if (n <= 2 * pixels) return [Array.from({ length: n }, (_, k) => time[a + k]), Array.from({ length: n }, (_, k) => values[a + k])];
  const t: number[] = [], v: (number | null)[] = [];
  for (let p = 0; p < pixels; p++) {
    const i = a + Math.floor((p * n) / pixels), j = a + Math.floor(((p + 1) * n) / pixels);
    let low = -1, high = -1;
    for (let k = i; k < j; k++) {
      const x = values[k];
      if (x === null) continue;
      if (low < 0 || x < (values[low] as number)) low = k;
      if (high < 0 || x > (values[high] as number)) high = k;
    }
    if (low < 0) { t.push(time[i]); v.push(null); continue; }
    for (const k of low < high ? [low, high] : low > high ? [high, low] : [low]) { t.push(time[k]); v.push(values[k]); }
  }
  return [t, v];
}

/** First index with time >= x. */
export function lower(time: ArrayLike<number>, x: number): number {
  let a = 0, b = time.length;
  while (a < b) { const m = (a + b) >> 1; if (time[m] < x) a = m + 1; else b = m; }
  return a;
}
