import { expect, test } from "vitest";
import { durationWords } from "./duration";

test("minutes of the whole work are told in hours where there are some", () => {
  expect([162, 42, 119.6].map(durationWords)).toEqual(["2 h 42 min", "42 min", "2 h 0 min"]);
});
