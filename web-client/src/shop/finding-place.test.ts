import { expect, it } from "vitest";
import type { PartMap } from "../api/shapes";
import { nearestJoint } from "./finding-place";

const part = (id: string, name: string, struck_reason?: string): PartMap["parts"][number] => ({
  id, name, kind: "tube", material: "brass_c260", finish: "bare", seam: "none", length: { mm: 240, basis: "typical" }, diameters: [],
  ...(struck_reason === undefined ? {} : { struck_reason }),
});
const joint = (id: string, a: [string, number], b: [string, number]): PartMap["joints"][number] => ({
  id, name: id, held: "soft_soldered", places: [{ part: a[0], at_mm: a[1] }, { part: b[0], at_mm: b[1] }],
});
const map = {
  parts: [part("leadpipe", "leadpipe"), part("bell-brace", "bell brace"), part("rear", "rear brace", "taken off"), part("bell", "bell")],
  joints: [joint("foot", ["bell-brace", 4], ["leadpipe", 220]), joint("rear foot", ["rear", 4], ["leadpipe", 180]), joint("receiver", ["leadpipe", 0], ["bell", 3])],
};

it("tells a place by the nearest thing that is joined there, from either end of the joint", () => {
  expect(nearestJoint(map, "Leadpipe", 186)).toEqual({ away_mm: 34, name: "bell brace" });
  expect(nearestJoint(map, "leadpipe", 40)).toEqual({ away_mm: 40, name: "bell" });
  expect(nearestJoint(map, "bell", 13)).toEqual({ away_mm: 10, name: "leadpipe" });
});

it("does not go by what was struck, and says nothing of what the map does not have", () => {
  expect(nearestJoint(map, "leadpipe", 180)?.name).toBe("bell brace");
  expect(nearestJoint(map, "the case", 10)).toBeUndefined();
});
