import { expect, it } from "vitest";
import { meant, type Under } from "./map-places";

const joint = (id: string, away: number): Under => ({ on: "joint", id, away, size: 44 });
const part = (id: string, size: number): Under => ({ on: "part", id, away: 0, size });
const ids = (under: Under[]) => meant(under).map((one) => one.id);

it("means the joint whose middle is nearest, whichever lies on top", () => {
  expect(ids([joint("upper leg", 14), joint("foot", 5), part("casing", 200)])).toEqual(["foot", "upper leg", "casing"]);
  expect(ids([joint("upper leg", 12), joint("foot", 20)])).toEqual(["upper leg", "foot"]);
});

it("means a small part under the pointer rather than a joint somewhere near, and a joint rather than a long tube", () => {
  expect(ids([joint("pivot", 15), part("pad", 20), part("body", 500)])).toEqual(["pad", "pivot", "body"]);
  expect(ids([joint("foot", 15), part("bell", 500)])).toEqual(["foot", "bell"]);
});

it("means a joint hit in its middle before the small part that it holds, and tells each once", () => {
  expect(ids([joint("post to body", 2), part("post", 10), joint("post to body", 0)])).toEqual(["post to body", "post"]);
  expect(ids([])).toEqual([]);
});
