import { expect, test } from "vitest";
import { AFTER_CHECK_IN, afterCheckIn, keepAfterCheckIn, papersAtOnce } from "./papers";

function memory() {
  const kept = new Map<string, string>();
  return { getItem: (name: string) => kept.get(name) ?? null, setItem: (name: string, value: string) => void kept.set(name, value) };
}

test("a machine prints the tag until somebody chooses otherwise, and then that", () => {
  const kept = memory();
  expect(afterCheckIn(kept)).toBe("tag");
  for (const choice of AFTER_CHECK_IN) {
    keepAfterCheckIn(choice, kept);
    expect(afterCheckIn(kept)).toBe(choice);
  }
  kept.setItem("paper-after-check-in", "a poster");
  expect(afterCheckIn(kept)).toBe("tag");
});

test("who has no e-mail address gets the receipt on paper, once and at the end", () => {
  expect(papersAtOnce("tag", true, false)).toEqual(["tag"]);
  expect(papersAtOnce("label", false, true)).toEqual(["label"]);
  expect(papersAtOnce("label", false, false)).toEqual(["label", "receipt"]);
  expect(papersAtOnce("none", false, false)).toEqual([]);
});
