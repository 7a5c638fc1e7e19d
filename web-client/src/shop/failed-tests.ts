import type { Family, Test, TestKind, WorkOrder } from "../api/shapes";
import { words } from "../words";

/** The latest test of this kind that said yes or no, where that was no: it has not passed since. */
export function lastFailure(tests: readonly Test[], kind: TestKind): Test | undefined {
  const last = tests.findLast((test) => test.kind === kind && (test.verdict === "passed" || test.verdict === "failed"));
  return last?.verdict === "failed" ? last : undefined;
}

/**
 * Finding, spots and own words of a failed test; each place once. `called` says how the shop calls a
 * part of a family.
 */
export function whereItFailed(test: Test, order: Pick<WorkOrder, "instrument" | "findings">, called: (family: Family, part: string) => string): string | undefined {
  const { family } = order.instrument;
  const finding = order.findings.find((one) => one.id === test.finding_id);
  const spots = test.spots.map((spot) => called(family, spot.part)).filter((part) => finding === undefined || part !== called(family, finding.part));
  const places = [...(finding === undefined ? [] : [words.testsTab.atFinding(finding.number, called(family, finding.part))]), ...new Set(spots), ...(test.where_words ? [test.where_words] : [])];
  return places.length === 0 ? undefined : words.common.list(places);
}
