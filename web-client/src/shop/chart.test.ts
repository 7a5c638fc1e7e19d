import { expect, test } from "vitest";
import { bandPath, linePath, place, roundRange, ticksOf } from "./chart";

test.each([
  [0, 60, 4, [0, 20, 40, 60]],
  [2817, 3000, 4, [2850, 2900, 2950, 3000]],
  [0, 0.01, 4, [0, 0.005, 0.01]],
  [-3, 7, 5, [-2, 0, 2, 4, 6]],
])("from %d to %d, about %d round values", (from, to, wanted, ticks) => {
  expect(ticksOf(from, to, wanted)).toEqual(ticks);
});

test("round values lie within, whatever the range", () => {
  for (let i = 1; i < 400; i += 1) {
    const [from, to] = [Math.sin(i) * 10 ** (i % 7 - 3), Math.sin(i) * 10 ** (i % 7 - 3) + 10 ** (i % 9 - 4)];
    const ticks = ticksOf(from, to, 5);
    expect(ticks.length).toBeGreaterThanOrEqual(2);
    expect(Math.min(...ticks)).toBeGreaterThanOrEqual(from - 1e-6 * Math.abs(to - from));
    expect(Math.max(...ticks)).toBeLessThanOrEqual(to + 1e-6 * Math.abs(to - from));
    expect(ticks.length).toBeLessThanOrEqual(8);
  }
});

test("a range without width is one place, and bad numbers make no plot", () => {
  expect(ticksOf(5, 5, 4)).toEqual([5]);
  expect(roundRange([Number.NaN], 4)).toEqual({ from: 0, to: 1 });
  expect(roundRange([3, 3], 4)).toEqual({ from: 2, to: 4 });
  expect(place({ from: 1, to: 1, start: 10, end: 20 }, 1)).toBe(10);
});

test("the range is widened to round values", () => {
  expect(roundRange([2817, 3001], 4)).toEqual({ from: 2800, to: 3050 });
});

test("a scale may run downwards, as the y of a picture does", () => {
  expect(place({ from: 0, to: 100, start: 200, end: 0 }, 25)).toBe(150);
});

test("lines and bands are path data", () => {
  const [upper, lower] = [[{ x: 0, y: 1 }, { x: 2, y: 1.23456 }], [{ x: 0, y: 5 }, { x: 2, y: 5 }]];
  expect(linePath(upper)).toBe("M0 1L2 1.23");
  expect(bandPath(upper, lower)).toBe("M0 1L2 1.23L2 5L0 5Z");
  expect(bandPath([], [])).toBe("");
});
