import { expect, test } from "vitest";
import { spotAtFinding, spotsOf, spotWithoutPart, testedPart } from "./test-draft";

test("one part without a part is no test of the whole instrument", () => {
  expect(testedPart("leak_test", false, " ")).toBe("missing");
  expect(testedPart("leak_test", false, " bell bow ")).toEqual({ scope: "bell bow" });
  expect(testedPart("leak_test", true, "bell bow")).toEqual({});
  // It is played as a whole, whatever was chosen for the leak test before.
  expect(testedPart("play_test", false, "")).toEqual({});
});

test("a test that is played has no leaks, also where some were chosen before", () => {
  const more = [{ part: "leadpipe", how_much: "clear" as const }];
  expect(spotsOf("leak_test", "bell", { how_much: "strong" }, more)).toEqual([{ part: "bell", how_much: "strong" }, ...more]);
  expect(spotsOf("play_test", "bell", { how_much: "strong" }, more)).toEqual([]);
});

test("a place that its finding says already is told once", () => {
  expect(spotsOf("leak_test", "bell", {}, [])).toEqual([]);
  expect(spotsOf("leak_test", "bell", { gap_mm: "0.05" }, [])).toEqual([{ part: "bell", gap_mm: "0.05" }]);
  expect(spotsOf("leak_test", "bell", {}, [{ part: "" }, { part: "leadpipe" }])).toEqual([{ part: "bell" }, { part: "leadpipe" }]);
});

test("how much somewhere, without where, is asked about", () => {
  expect(spotWithoutPart([{ part: "bell", how_much: "clear" }, { part: "", how_much: null }])).toBeUndefined();
  expect(spotWithoutPart([{ part: "bell" }, { part: " ", how_much: "slight" }])).toBe(1);
});

test("a spot can be a finding that is drawn", () => {
  expect(spotAtFinding({ part: "bell", position_mm: "34" })).toEqual({ part: "bell", position_mm: "34" });
  expect(spotAtFinding({ part: "bell", position_mm: null })).toEqual({ part: "bell", position_mm: null });
});
