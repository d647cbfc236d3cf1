import { ramp, theme } from "../state";

/** Colour of a temperature on a fixed scale; hotter or colder: the end colour. */
export function heat(value: number, low: number, high: number): string {
  const colours = ramp.value[theme.value];
  if (!colours.length) return "var(--line2)";
  const share = (value - low) / (high - low);
  return colours[Math.max(0, Math.min(255, Math.round(share * 255)))];
}

export const steps = (low: number, high: number, count = 12) =>
  Array.from({ length: count }, (_, k) => heat(low + ((k + 0.5) / count) * (high - low), low, high));
