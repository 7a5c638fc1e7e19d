import { expect, test } from "vitest";
import { labelRows } from "./label-rows";

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
