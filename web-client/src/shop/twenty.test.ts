import { expect, test } from "vitest";
import { firstWith, readyBy, stacksOf } from "./twenty";

/** 1, 3, 5, 4, 4 of them done by the 16th, two on the 18th, one on the 23rd. */
const DATES = [
  "2026-06-05", ...Array(3).fill("2026-06-09"), ...Array(5).fill("2026-06-11"), ...Array(4).fill("2026-06-12"),
  ...Array(4).fill("2026-06-16"), ...Array(2).fill("2026-06-18"), "2026-06-23",
] as string[];

test("17 of 20 are ready by the date a promise opens with, and fewer by the day before", () => {
  expect(firstWith(DATES, 17)).toBe("2026-06-16");
  expect(readyBy(DATES, "2026-06-16")).toBe(17);
  expect(readyBy(DATES, "2026-06-15")).toBe(13);
  expect(readyBy(DATES, "2026-06-04")).toBe(0);
});

test("every dot stands in one stack, filled up to the date chosen", () => {
  const stacks = stacksOf(DATES, "2026-06-16", 9);
  expect(stacks.map((one) => one.count)).toEqual([1, 3, 5, 4, 4, 2, 1]);
  expect(stacks.map((one) => one.filled)).toEqual([1, 3, 5, 4, 4, 0, 0]);
});

test("twenty different dates share few stacks and none is lost", () => {
  const days = Array.from({ length: 20 }, (_, i) => `2026-07-${String(i + 1).padStart(2, "0")}`);
  const stacks = stacksOf(days, "2026-07-10", 9);
  expect(stacks.length).toBeLessThanOrEqual(9);
  expect(stacks.reduce((sum, one) => sum + one.count, 0)).toBe(20);
  expect(stacks.reduce((sum, one) => sum + one.filled, 0)).toBe(10);
  expect(stacks[0]).toMatchObject({ from: "2026-07-01", to: "2026-07-03" });
});

test("before a date is chosen no dot is filled, and too few dates promise nothing", () => {
  expect(stacksOf(DATES, "", 9).every((one) => one.filled === 0)).toBe(true);
  expect(firstWith(DATES.slice(0, 5), 17)).toBeUndefined();
});

test("whatever day is chosen, filled dots stand left of it and empty ones right of it", () => {
  const days = Array.from({ length: 20 }, (_, i) => `2026-12-${String(i + 3).padStart(2, "0")}`);
  for (const dates of [DATES, days]) {
    for (const chosen of [...days, ...DATES, "2026-12-01", "2027-01-01"]) {
      const stacks = stacksOf(dates, chosen, 8);
      expect(stacks.length).toBeLessThanOrEqual(8);
      expect(stacks.reduce((sum, one) => sum + one.count, 0)).toBe(20);
      for (const one of stacks) expect(one.filled, `${one.from}–${one.to} with ${chosen}`).toBe(one.to <= chosen ? one.count : 0);
    }
  }
});
