import { expect, it } from "vitest";
import { isFar, rangeBeyond } from "./far-measures";

it("asks about 900 where 11 is typical, and not about what instruments really differ by", () => {
  expect(isFar("diameter", 900, 11)).toBe(true);
  expect(isFar("diameter", 1.1, 11)).toBe(true);
  expect(isFar("diameter", 12.4, 11)).toBe(false);
  expect(isFar("wall", 0.35, 0.5)).toBe(false);
  expect(isFar("wall", 5, 0.5)).toBe(true);
  expect(isFar("length", 310, 240)).toBe(false);
  expect(isFar("length", 2400, 240)).toBe(true);
});

it("knows what no part can measure", () => {
  expect(rangeBeyond("diameter", 5000)).toEqual([1, 600]);
  expect(rangeBeyond("diameter", 600)).toBeUndefined();
  expect(rangeBeyond("length", 0.5)).toEqual([1, 3000]);
  expect(rangeBeyond("wall", 0.05)).toEqual([0.1, 300]);
});
