import { expect, test } from "vitest";
import { faultsOfFinding } from "./finding-draft";

test("no part is taken for the first one of the list", () => {
  expect(faultsOfFinding({ kind: "crack", part: "", size: "", position: "" }, undefined)).toEqual({ part: "missing" });
});
test("no kind is taken for the first one of the list", () => {
  expect(faultsOfFinding({ kind: "", part: "bell", size: "", position: "" }, undefined)).toEqual({ kind: "missing" });
});
test("a place lies within the length of its part", () => {
  expect(faultsOfFinding({ kind: "crack", part: "bell", size: "", position: "520,5" }, 520)).toEqual({ position: "beyond" });
  expect(faultsOfFinding({ kind: "crack", part: "bell", size: "14", position: "520" }, 520)).toEqual({});
  expect(faultsOfFinding({ kind: "crack", part: "own words", size: "", position: "9000" }, undefined)).toEqual({});
});
test("lengths are millimetres with up to three decimals", () => {
  expect(faultsOfFinding({ kind: "crack", part: "bell", size: "big", position: "1.2345" }, 520)).toEqual({ size: "unreadable", position: "unreadable" });
  expect(faultsOfFinding({ kind: "crack", part: "bell", size: "123456", position: "" }, 520)).toEqual({ size: "unreadable" });
});
