import { expect, test } from "vitest";
import type { Test } from "../api/shapes";
import { lastFailure, whereItFailed } from "./failed-tests";

const one = (id: string, kind: Test["kind"], verdict: Test["verdict"]) => ({ id, kind, verdict }) as Test;

test("the second test is told that the first failed, also after one that was too close to call", () => {
  expect(lastFailure([one("a", "leak_test", "failed"), one("b", "leak_test", "not_decidable"), one("c", "leak_test", null)], "leak_test")?.id).toBe("a");
});

test("what has passed since is no news, and neither is another kind of test", () => {
  expect(lastFailure([one("a", "leak_test", "failed"), one("b", "leak_test", "passed")], "leak_test")).toBeUndefined();
  expect(lastFailure([one("a", "play_test", "failed")], "leak_test")).toBeUndefined();
});

test("where it failed is told once for each place, the finding first", () => {
  const order = { instrument: { family: "trumpet" }, findings: [{ id: "f", number: 2, part: "bell bow" }] } as Parameters<typeof whereItFailed>[1];
  const failed = { ...one("a", "leak_test", "failed"), finding_id: "f", where_words: "at its lower end", spots: [{ part: "bell bow" }, { part: "leadpipe" }, { part: "leadpipe" }] } as Test;
  expect(whereItFailed(failed, order, (_, part) => part)).toBe("finding 2, bell bow, leadpipe, at its lower end");
  expect(whereItFailed({ ...failed, finding_id: null, where_words: null, spots: [] } as Test, order, (_, part) => part)).toBeUndefined();
});
