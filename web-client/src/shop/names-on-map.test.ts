import { expect, test } from "vitest";
import type { PartMap } from "../api/shapes";
import { namedParts, placeNames, type Wanted } from "./names-on-map";

const SHEET = { width: 640, height: 430 };
/** The same places every time, spread over the sheet. */
const scattered = (count: number, salt: number): Wanted[] =>
  Array.from({ length: count }, (_, i) => ({ id: `p${i}`, name: "bell throat ".repeat(1 + ((i + salt) % 3)).trim(), at: { x: (i * 131 + salt * 57) % 640, y: (i * 89 + salt * 23) % 430 } }));

test("no name lies over another, over a pin or beyond the sheet, however many are wanted", () => {
  for (let salt = 0; salt < 40; salt += 1) {
    const pins = scattered(6, salt + 7).map(({ at }) => ({ left: at.x - 19, right: at.x + 19, top: at.y - 19, bottom: at.y + 19 }));
    const placed = placeNames(scattered(14, salt), pins, SHEET, 22);
    expect(placed.length).toBeGreaterThan(0);
    for (const [i, one] of placed.entries()) {
      expect(one.left >= 0 && one.top >= 0 && one.right <= SHEET.width && one.bottom <= SHEET.height).toBe(true);
      for (const other of [...pins, ...placed.slice(i + 1)]) expect(one.right <= other.left || other.right <= one.left || one.bottom <= other.top || other.bottom <= one.top).toBe(true);
    }
  }
});

test("the part in hand gets its name before the others", () => {
  const at = { x: 60, y: 15 };
  const only = { width: 120, height: 30 };
  expect(placeNames([{ id: "bell", name: "bell", at }, { id: "bow", name: "bow", at }], [], only, 22).map((one) => one.id)).toEqual(["bell"]);
});

test("named are the part in hand, what was found on and what was measured; nothing that was struck", () => {
  const typical = { mm: 10, basis: "typical" as const };
  const part = (id: string, more: Partial<PartMap["parts"][number]> = {}): PartMap["parts"][number] => ({ id, name: id.replace("-", " "), kind: "tube", material: "brass_c260", finish: "bare", seam: "none", length: typical, diameters: [{ at_mm: 0, outside_diameter: typical }], ...more });
  const map = { parts: [part("bow"), part("bell", { wall: { mm: 0.5, basis: "measured" } }), part("lead-pipe"), part("water-key"), part("brace", { struck_reason: "never had it" })] };
  expect(namedParts(map, "water-key", ["lead-pipe", "brace"]).map((one) => one.id)).toEqual(["water-key", "lead-pipe", "bell"]);
  expect(namedParts(map, undefined, [])).toEqual([{ id: "bell", name: "bell" }]);
});
