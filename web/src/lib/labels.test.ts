import { expect, test } from "vitest";
import { broken, overlap, place } from "./labels";

const ROOM = { x: 0, y: 0, w: 400, h: 200 };

test("labels that would stand on each other are parted", () => {
  const at = [[100, 50], [100, 70], [100, 30]] as [number, number][];
  const found = place([{ key: "a", lines: ["Radiator"], at }, { key: "b", lines: ["Radiator"], at }], [], ROOM);
  expect(overlap(found[0], found[1])).toBe(0);
});

test("a fixed mark is kept clear, and the room is not left", () => {
  const mark = { x: 90, y: 45, w: 60, h: 20 };
  const [one] = place([{ key: "a", lines: ["Radiator"], at: [[100, 50], [-50, 50], [200, 50]] }], [mark], ROOM);
  expect([one.x, one.y]).toEqual([200, 50]);
});

test("long titles break at words", () => {
  expect(broken("Between charge cooler and radiator", 14)).toEqual(["Between charge", "cooler and ra…"]);
});
