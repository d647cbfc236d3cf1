import { expect, test } from "vitest";
import { decimate, lower } from "./decimate";

test("a spike of one sample survives", () => {
  const time = Array.from({ length: 50000 }, (_, k) => k * 0.1);
  const values = time.map((t) => Math.sin(t));
  values[31337] = 9;
  const [t, v] = decimate(time, values, 0, 5000, 600);
  expect(Math.max(...(v as number[]))).toBe(9);
  expect(t.length).toBeLessThanOrEqual(1200);
  expect(t.every((x, k) => k === 0 || x >= t[k - 1])).toBe(true);
});

test("a small window passes samples as they are; gaps stay gaps", () => {
  expect(decimate([0, 1, 2, 3], [5, null, 7, 8], 1, 2, 100)).toEqual([[1, 2], [null, 7]]);
  expect(lower([1, 2, 2, 3], 2)).toBe(1);
});
