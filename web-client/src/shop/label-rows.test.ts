import { expect, test } from "vitest";
import { clearest, inRows, labelRows, overlap } from "./label-rows";

test("labels that would lie over one another go into rows of their own", () => {
  expect(labelRows([{ at: 50, width: 80 }, { at: 90, width: 80 }, { at: 200, width: 80 }], 300, 4)).toEqual([{ left: 10, row: 0 }, { left: 50, row: 1 }, { left: 160, row: 0 }]);
});

test("a label stays within the plot, even where it is wider than it", () => {
  expect(labelRows([{ at: 0, width: 80 }, { at: 300, width: 80 }], 300, 4)).toEqual([{ left: 0, row: 0 }, { left: 220, row: 0 }]);
  expect(labelRows([{ at: 10, width: 400 }], 300, 4)).toEqual([{ left: 0, row: 0 }]);
});

test("no two labels of one row overlap, however many there are", () => {
  const labels = Array.from({ length: 12 }, (_, i) => ({ at: (i * 37) % 300, width: 40 + (i % 4) * 30 }));
  const placed = labelRows(labels, 300, 4).map((one, i) => ({ ...one, right: one.left + (labels[i]?.width ?? 0) }));
  for (const [i, a] of placed.entries()) for (const b of placed.slice(i + 1)) expect(a.row !== b.row || a.right + 4 <= b.left || b.right + 4 <= a.left).toBe(true);
});

test("a label of two rows leaves both to itself", () => {
  expect(labelRows([{ at: 50, width: 80, rows: 2 }, { at: 60, width: 40 }, { at: 250, width: 40 }], 300, 8).map((one) => one.row)).toEqual([0, 2, 0]);
  expect(labelRows([{ at: 60, width: 40 }, { at: 50, width: 80, rows: 2 }], 300, 8).map((one) => one.row)).toEqual([0, 1]);
});
test("a label wider than the plot stands in pieces, one below another", () => {
  expect(inRows(["bell brace, 26 mm", "about 178 °C"], ": ", 400, 9)).toEqual(["bell brace, 26 mm: about 178 °C"]);
  expect(inRows(["bell brace, 26 mm", "about 178 °C"], ": ", 200, 9)).toEqual(["bell brace, 26 mm:", "about 178 °C"]);
});
test("a piece too wide by itself is broken between words, and a figure stays with its unit", () => {
  expect(inRows(["solder melts, taken for 183 °C", "kept under 158 °C"], "; ", 240, 9.2)).toEqual(["solder melts, taken for", "183 °C;", "kept under 158 °C"]);
});
test("what is written goes where no curve runs through it", () => {
  const left = { left: 0, top: 40, right: 100, bottom: 60 };
  const right = { left: 200, top: 40, right: 300, bottom: 60 };
  const rising = [{ x: 0, y: 80 }, { x: 100, y: 20 }, { x: 300, y: 10 }];
  expect(clearest([left, right], [rising])).toBe(right);
  expect(clearest([left, right], [[{ x: 0, y: 10 }, { x: 300, y: 10 }]])).toBe(left);
  expect([overlap(left, right), overlap(left, { left: 50, top: 50, right: 150, bottom: 70 })]).toEqual([false, true]);
});
