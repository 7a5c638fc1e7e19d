import type { HowMuch, LeakSpot, TestKind, WorkOrder } from "../api/shapes";

/** A further place where it leaks, beside the finding that the test pins. */
export type MoreSpot = Pick<LeakSpot, "part" | "how_much" | "position_mm">;

/**
 * What a test is of, as it is told to the server, where nothing said is the whole instrument.
 * `missing`: one part was chosen and nobody said which, so it is recorded of nothing.
 */
export function testedPart(kind: TestKind, whole: boolean, typed: string): { scope?: string } | "missing" {
  if (kind !== "leak_test" || whole) return {};
  const scope = typed.trim();
  return scope === "" ? "missing" : { scope };
}

/** The first further spot that says how much and not where, from 0. */
export function spotWithoutPart(more: readonly MoreSpot[]): number | undefined {
  const at = more.findIndex((one) => one.part.trim() === "" && one.how_much != null);
  return at < 0 ? undefined : at;
}

/**
 * The places where a leak test failed. Only a leak test has any: what was chosen before another test
 * was is not told of that one.
 */
export function spotsOf(kind: TestKind, pinned: string | undefined, about: { how_much?: HowMuch | undefined; gap_mm?: string | undefined; bubbles_per_minute?: number | undefined }, more: readonly MoreSpot[]): LeakSpot[] {
  if (kind !== "leak_test") return [];
  const others = more.filter((one) => one.part.trim() !== "");
  const said: Omit<LeakSpot, "part"> = {
    ...(about.how_much === undefined ? {} : { how_much: about.how_much }),
    ...(about.gap_mm === undefined ? {} : { gap_mm: about.gap_mm }),
    ...(about.bubbles_per_minute === undefined ? {} : { bubbles_per_minute: about.bubbles_per_minute }),
  };
  // The finding says where; a place of its own is told when there is more to it.
  const isTold = pinned !== undefined && (Object.keys(said).length > 0 || others.length > 0);
  return [...(isTold ? [{ part: pinned, ...said }] : []), ...others];
}

/** A finding as a further spot: where it is pinned, the leak is. */
export function spotAtFinding(finding: Pick<WorkOrder["findings"][number], "part" | "position_mm">): Pick<MoreSpot, "part" | "position_mm"> {
  return { part: finding.part, position_mm: finding.position_mm ?? null };
}
