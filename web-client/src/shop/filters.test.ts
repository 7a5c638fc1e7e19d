import { describe, expect, test } from "vitest";
import type { BoardOrder } from "../api/shapes";
import { filterInAddress, isForecast, passes, readFilter, type Filter } from "./filters";

const mara = { id: "p1", name: "Mara Voss", initials: "MV" };
function order(more: Partial<BoardOrder>): BoardOrder {
  return {
    id: "o", claim_number: "1843-8", version: 1, stage: "bench", stage_since: "2026-06-01T08:00:00Z", promised_on: "2026-06-12", working_days_left: 1,
    waits_for: "shop", since: "2026-06-01T08:00:00Z", held: false, customer_name: "Lund", instrument_words: "baritone", family: "baritone", waiting_words: "", ...more,
  };
}

describe("filters", () => {
  test.each<Filter>([{ kind: "all" }, { kind: "late" }, { kind: "turn", of: "supplier" }, { kind: "person", id: "p1" }])("$kind comes back from the address as it went in", (filter) => {
    expect(readFilter(filterInAddress(filter) || undefined, [mara])).toEqual(filter);
  });
  test("an unknown address shows all", () => {
    expect(readFilter("somebody-gone", [mara])).toEqual({ kind: "all" });
    expect(readFilter(undefined, [])).toEqual({ kind: "all" });
  });
  test("likely late is what the forecast says, and nothing without a forecast", () => {
    expect(passes(order({ likely_days_late: 2 }), { kind: "late" })).toBe(true);
    expect(passes(order({ likely_days_late: 0 }), { kind: "late" })).toBe(false);
    expect(passes(order({ likely_days_late: null }), { kind: "late" })).toBe(false);
    expect(isForecast([order({}), order({ likely_days_late: null })])).toBe(false);
    expect(isForecast([order({}), order({ likely_days_late: 0 })])).toBe(true);
  });
  test("turns and people", () => {
    const theirs = order({ waits_for: "customer", claimed_by: mara });
    expect(passes(theirs, { kind: "turn", of: "customer" })).toBe(true);
    expect(passes(theirs, { kind: "turn", of: "shop" })).toBe(false);
    expect(passes(theirs, { kind: "person", id: "p1" })).toBe(true);
    expect(passes(order({ claimed_by: null }), { kind: "person", id: "p1" })).toBe(false);
  });
});
