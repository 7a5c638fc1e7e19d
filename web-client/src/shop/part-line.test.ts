import { expect, test } from "vitest";
import { lineThrough, millimetresAt, pointAlong, pointAt, shareAlong, sideAt } from "./part-line";

const straight = { length: { mm: 300 }, layout: { line: [{ x: 0, y: 0 }, { x: 600, y: 0 }] } };
const bow = { length: { mm: 400 }, layout: { line: [{ x: 0, y: 0 }, { x: 100, y: 0, bend: 50 }, { x: 100, y: 100, bend: 50 }, { x: 0, y: 100 }] } };

test("a tap beside the middle line counts at its foot on the line", () => {
  expect(millimetresAt(straight, { x: 150, y: 12 })).toBe(75);
  expect(millimetresAt(straight, { x: -20, y: 0 })).toBe(0);
  expect(millimetresAt(straight, { x: 700, y: 3 })).toBe(300);
});

test("a bend is rounded: its middle is half way round, not at a corner", () => {
  const line = lineThrough(bow.layout.line);
  // Two quarter circles of 50 between two runs of 50: their outermost point lies at (100, 50).
  expect(pointAlong(line, 0.5)?.x).toBeCloseTo(100, 1);
  expect(pointAlong(line, 0.5)?.y).toBeCloseTo(50, 1);
  expect(millimetresAt(bow, { x: 104, y: 50 })).toBe(200);
  const whole = 100 + Math.PI * 50;
  expect(shareAlong(line, { x: 50, y: 0 })).toBeCloseTo(50 / whole, 2);
});

test("what a tap says is drawn where it was tapped", () => {
  for (const mm of [0, 37, 120, 250, 400]) {
    const point = pointAt(bow, mm);
    expect(point === undefined ? undefined : millimetresAt(bow, point)).toBe(mm);
  }
});

test("a part without a line of its own has no places", () => {
  expect(millimetresAt({ length: { mm: 10 } }, { x: 0, y: 0 })).toBeUndefined();
  expect(millimetresAt({ length: { mm: 10 }, layout: null }, { x: 0, y: 0 })).toBeUndefined();
});

test("a tap off the middle says the side, one on it says none", () => {
  const diameters = [{ at_mm: 0, outside_diameter: { mm: 20 } }, { at_mm: 300, outside_diameter: { mm: 40 } }];
  const tube = { ...straight, diameters };
  expect(sideAt(tube, { x: 150, y: -8 }, 1)).toBe("top");
  expect(sideAt(tube, { x: 150, y: 8 }, 1)).toBe("bottom");
  expect(sideAt(tube, { x: 150, y: 2 }, 1)).toBeUndefined();
  // Twice as large on the sheet, the same tap is nearer to the middle of the tube.
  expect(sideAt(tube, { x: 150, y: 7 }, 2)).toBeUndefined();
  expect(sideAt({ ...bow, diameters }, { x: 110, y: 50 }, 1)).toBe("right");
  expect(sideAt({ length: { mm: 10 }, layout: null, diameters }, { x: 0, y: 0 }, 1)).toBeUndefined();
});
