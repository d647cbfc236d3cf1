/** Figures the page itself prints: axis figures, times. True minus, one thin space for thousands. */
export const fixed = (x: number, digits = 0) => {
  const text = Math.abs(x).toFixed(digits).replace(/\B(?=(\d{3})+(?!\d))/, "\u2009");
  return x < 0 && /[1-9]/.test(text) ? "−" + text : text;
};
export const signed = (x: number, digits = 0) => {
  const text = fixed(x, digits);
  return x > 0 && /[1-9]/.test(text) ? "+" + text : text;
};
export const clock = (s: number) => {
  const w = Math.round(s), h = Math.floor(w / 3600), m = Math.floor((w % 3600) / 60), r = String(w % 60).padStart(2, "0");
  return h ? `${h}:${String(m).padStart(2, "0")}:${r}` : `${m}:${r}`;
};
/** Three to six round steps between two ends. */
export function ticks(low: number, high: number, wanted = 5): number[] {
  const raw = (high - low) / wanted, power = 10 ** Math.floor(Math.log10(raw || 1));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw) ?? raw;
  const found: number[] = [];
  for (let x = Math.ceil(low / step) * step; x <= high + 1e-9; x += step) found.push(Math.abs(x) < 1e-12 ? 0 : x);
  return found;
}
export const wordIn = (title: string) => (/^[A-Z][a-z]/.test(title) ? title[0].toLowerCase() + title.slice(1) : title);
