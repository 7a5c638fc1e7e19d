import { expect, test } from "vitest";
import { bellOf, placeOfDays } from "./bell";
import { addDays } from "./dates";
import { scaleOf } from "./scale";

// A Thursday, and the open days (Monday to Friday) of eight weeks.
const TODAY = "2026-06-11";
const OPEN = Array.from({ length: 56 }, (_, i) => addDays(TODAY, i)).filter((day) => ![0, 6].includes(new Date(`${day}T00:00:00Z`).getUTCDay()));
const COLUMNS = scaleOf(TODAY, OPEN);
const place = (days: number) => placeOfDays(COLUMNS, TODAY, OPEN, days);

test("no day is the today line, and each open day is a column on", () => {
  expect(place(0)).toBe(1);
  expect(place(1)).toBe(2);
  expect(place(2)).toBe(3);
  expect(place(2.5)).toBe(3.5);
});

test("the days of a week share its column, and beyond the scale it is its end", () => {
  // 22 June, the first day of the first single week, is 7 open days from today.
  expect(place(7)).toBe(8);
  expect(place(8)).toBeCloseTo(8.2);
  expect(place(12)).toBe(9);
  expect(place(40)).toBe(COLUMNS.length);
});

test("more days never lie further left", () => {
  const places = Array.from({ length: 120 }, (_, i) => place(i / 3));
  expect(places).toEqual(places.toSorted((a, b) => a - b));
});

test("a shop that tells only few open days still has a scale", () => {
  expect(placeOfDays(COLUMNS, TODAY, OPEN.slice(0, 3), 7)).toBe(8);
});

/** The points at which a path of M, L, C and Z ends its pieces. */
const ends = (path: string) => [...path.matchAll(/(-?[\d.]+) (-?[\d.]+)(?=[A-Z]|$)/g)].map((at) => [Number(at[1]), Number(at[2])]);

test("the edge passes every rail at its reach", () => {
  const bell = bellOf([{ y: 50, x: 10 }, { y: 150, x: 8 }, { y: 250, x: 3 }], 300);
  expect(ends(bell?.edge ?? "")).toEqual(expect.arrayContaining([[10, 50], [8, 150], [3, 250]]));
  expect(bell?.felt.endsWith("H1V0Z")).toBe(true);
});

test("the felt never goes left of today, and one rail alone makes no bell", () => {
  const bell = bellOf([{ y: 50, x: 9 }, { y: 60, x: 1 }], 300);
  expect(Math.min(...ends(bell?.edge ?? "").map(([x]) => x ?? 0))).toBe(1);
  expect(bellOf([{ y: 50, x: 9 }], 100)).toBeUndefined();
});
