import { describe, expect, it } from "vitest";
import type { Method } from "../api/shapes";
import { changeOfMethod, draftOfMethod, readMethod } from "./method-draft";

const braze: Method = {
  id: "m", version: 3, is_offered: true, name: "Braze a crack", heat: "braze", irreversible: false,
  minutes: { low: 40, typical: 55, high: 80 }, listed_minutes: { low: 35, typical: 50, high: 90 }, own_count: 12, own_from: 8,
  price: { amount: "62.00", currency: "EUR" }, cautions: ["torch", "flux-fume"], station: "torch", filler: "bag_7", heat_c: null,
  joint_kind: "butt", needs_apart: [], answers: ["crack"], plating_metal: null,
};

describe("a method being changed", () => {
  it("shows the minutes of the list, not those that the work took, and is no change by itself", () => {
    const draft = draftOfMethod(braze, "bench");
    expect([draft.low, draft.typical, draft.high]).toEqual(["35", "50", "90"]);
    const read = readMethod(draft, "EUR");
    if ("faults" in read) throw new Error(read.faults.join());
    expect(changeOfMethod(braze, read.method, draft.is_offered)).toEqual({});
  });
  it("sends what differs, and null for what was taken away", () => {
    const draft = { ...draftOfMethod(braze, "bench"), heat: "none" as const, heat_c: "700", price: "64", is_offered: false };
    const read = readMethod(draft, "EUR");
    if ("faults" in read) throw new Error(read.faults.join());
    expect(changeOfMethod(braze, read.method, draft.is_offered)).toEqual({
      heat: "none", filler: null, joint_kind: null, price: { amount: "64.00", currency: "EUR" }, is_offered: false,
    });
  });
  it("tells everything that cannot be read", () => {
    const draft = { ...draftOfMethod(braze, "bench"), name: " ", low: "60", heat_c: "hot", price: "much" };
    expect(readMethod(draft, "EUR")).toEqual({ faults: ["name", "minutes", "price", "heat_c"] });
  });
});
