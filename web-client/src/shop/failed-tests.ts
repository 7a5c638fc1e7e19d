import type { Test, TestKind } from "../api/shapes";

/** The latest test of this kind that said yes or no, where that was no: it has not passed since. */
export function lastFailure(tests: readonly Test[], kind: TestKind): Test | undefined {
  const last = tests.findLast((test) => test.kind === kind && (test.verdict === "passed" || test.verdict === "failed"));
  return last?.verdict === "failed" ? last : undefined;
}
