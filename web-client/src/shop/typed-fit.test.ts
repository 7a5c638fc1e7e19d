import { expect, test } from "vitest";
import { readPoints, readShank, readStations } from "./typed-fit";

test("diameters across a place stand at equal turns over half a circle", () => {
  expect(readStations("0 11,98 11.97 11.99\n\n20;11.96;11.96;11.97;11.95")).toEqual({
    stations: [
      { at_mm: 0, diameters: [{ angle_deg: 0, diameter_mm: 11.98 }, { angle_deg: 60, diameter_mm: 11.97 }, { angle_deg: 120, diameter_mm: 11.99 }] },
      { at_mm: 20, diameters: [{ angle_deg: 0, diameter_mm: 11.96 }, { angle_deg: 45, diameter_mm: 11.96 }, { angle_deg: 90, diameter_mm: 11.97 }, { angle_deg: 135, diameter_mm: 11.95 }] },
    ],
  });
});

test("two diameters do not show how round it is", () => {
  expect(readStations("0 11.98 11.97 11.99\n20 11.9 11.9")).toEqual({ line: 2 });
});

test("a shank has one diameter at each place", () => {
  expect(readShank("0 9.8\n10 10,3")).toEqual({ stations: [{ at_mm: 0, diameter_mm: 9.8 }, { at_mm: 10, diameter_mm: 10.3 }] });
  expect(readShank("0 9.8 9.9")).toEqual({ line: 1 });
});

test.each([["here 12 12 12", 1], ["0 12 12 12\n\n-5 12 12 12", 3], ["0 1e3 12 12", 1]])("%j cannot be read from line %d on", (text, line) => {
  expect(readStations(text)).toEqual({ line });
});

test("points of a section lie on either side of zero, with any mark of a decimal", () => {
  expect(readPoints("5.98 -0.11\n-5,98 0\n0 −6")).toEqual({ points: [[5.98, -0.11], [-5.98, 0], [0, -6]] });
  expect(readPoints("5.98 0\n5.98 0 1")).toEqual({ line: 2 });
  expect(readStations("0 -1 2 3")).toEqual({ line: 1 });
});
