import { expect, test } from "vitest";
import type { Test } from "../api/shapes";
import { lastFailure } from "./failed-tests";

const one = (id: string, kind: Test["kind"], verdict: Test["verdict"]) => ({ id, kind, verdict }) as Test;

test("the second test is told that the first failed, also after one that was too close to call", () => {
  expect(lastFailure([one("a", "leak_test", "failed"), one("b", "leak_test", "not_decidable"), one("c", "leak_test", null)], "leak_test")?.id).toBe("a");
});

test("what has passed since is no news, and neither is another kind of test", () => {
  expect(lastFailure([one("a", "leak_test", "failed"), one("b", "leak_test", "passed")], "leak_test")).toBeUndefined();
  expect(lastFailure([one("a", "play_test", "failed")], "leak_test")).toBeUndefined();
});
