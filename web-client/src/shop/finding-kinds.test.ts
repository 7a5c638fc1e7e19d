import { expect, test } from "vitest";
import type { Family } from "../api/shapes";
import { words } from "../words";
import { usualKinds } from "./finding-kinds";

test("brass is offered no pads, woodwind no valves, and metal no crack in the wood", () => {
  expect(usualKinds("trumpet")).not.toContain("leaking_pad");
  expect(usualKinds("trumpet")).not.toContain("wood_crack");
  expect(usualKinds("clarinet")).not.toContain("valve");
  expect(usualKinds("saxophone")).not.toContain("wood_crack");
  expect(usualKinds("horn")).toContain("linkage");
});

test("no kind is offered twice, and each that is offered has its word", () => {
  for (const family of Object.keys(words.families) as Family[]) {
    const kinds = usualKinds(family);
    expect(new Set(kinds).size, family).toBe(kinds.length);
    for (const kind of kinds) expect(Object.keys(words.findings)).toContain(kind);
  }
});
