import { expect, test } from "vitest";
import type { PartMap, PlanStep } from "../api/shapes";
import { jointsToChoose, minutesOf, operationOf, rangeAround } from "./joints";

const part = (id: string, kind: PartMap["parts"][number]["kind"]): PartMap["parts"][number] => ({
  id, name: id, kind, material: "brass_c260", finish: "bare", seam: "none", length: { mm: 100, basis: "typical" }, diameters: [],
});
const joint = (id: string, held: PartMap["joints"][number]["held"], a: string, b: string, struck_reason?: string): PartMap["joints"][number] => ({
  id, name: id, held, places: [{ part: a, at_mm: 0 }, { part: b, at_mm: 0 }], ...(struck_reason === undefined ? {} : { struck_reason }),
});

test("a brace is chosen as one thing, its feet are not; what is brazed or struck cannot be taken apart", () => {
  const parts = [part("bell", "tube"), part("leadpipe", "tube"), part("bell brace", "brace")];
  const joints = [
    joint("first foot", "soft_soldered", "bell brace", "bell"), joint("second foot", "soft_soldered", "bell brace", "leadpipe"),
    joint("slide", "slide_fit", "bell", "leadpipe"), joint("knuckle", "brazed", "bell", "leadpipe"), joint("gone", "threaded", "bell", "leadpipe", "never had it"),
  ];
  expect(jointsToChoose({ parts, joints })).toEqual([
    { id: "bell brace", name: "bell brace", held: ["soft_soldered", "soft_soldered"] },
    { id: "slide", name: "slide", held: ["slide_fit"] },
  ]);
});

test("a brace takes the minutes of both its feet", () => {
  const settings = { soft_soldered: 8, slide_fit: 1, threaded: 2, tenon_and_cork: 1, pivot: 4 };
  expect(minutesOf(["soft_soldered", "soft_soldered"], settings)).toBe(16);
  expect(minutesOf(["pivot"], settings)).toBe(4);
  expect(minutesOf(["brazed"], settings)).toBeUndefined();
});

const proposed = (kind: PlanStep["kind"], joint_ids: string[]): PlanStep => ({
  number: 1, kind, words: "Take bell brace apart", minutes: 16, changeover_minutes: 0, running_minutes: 16, protections: [], cautions: [], joint: { id: "bell brace", name: "bell brace", joint_ids },
});

test("a soldered joint that the plan takes apart is torch work, with a range and without a price of its own", () => {
  const joints = [joint("first foot", "soft_soldered", "a", "b"), joint("slide", "slide_fit", "a", "b")];
  expect(operationOf(proposed("take_apart", ["first foot"]), { joints }, "EUR")).toEqual({
    title: "Take bell brace apart", kind: "take_apart", joint: "bell brace", heat: "solder", irreversible: false, finding_ids: [], after: [],
    minutes: { low: 12, typical: 16, high: 24 }, price: { amount: "0", currency: "EUR" },
  });
  expect(operationOf(proposed("put_together", ["slide"]), { joints }, "EUR")).toMatchObject({ kind: "put_together", heat: "none" });
});

test("the range around few minutes still rises", () => {
  expect(rangeAround(1)).toEqual({ low: 0, typical: 1, high: 2 });
});
