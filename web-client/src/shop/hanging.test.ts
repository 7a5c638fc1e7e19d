import { describe, expect, test } from "vitest";
import type { BoardOrder } from "../api/shapes";
import { byPromise, byUrgency, byWait, fold, nameOnTag, railHeight, rowsThatFit, TAG_SIZES, threadsOf, walk, type Spot } from "./hanging";
import { scaleOf } from "./scale";

function order(id: string, more: Partial<BoardOrder> = {}): BoardOrder {
  return {
    id, claim_number: id, version: 1, stage: "bench", stage_since: "2026-06-01T08:00:00Z", promised_on: "2026-06-12", working_days_left: 1,
    waits_for: "shop", since: "2026-06-01T08:00:00Z", held: false, customer_name: "Lund", instrument_words: "baritone", family: "baritone", waiting_words: "", ...more,
  };
}
const ids = (orders: readonly { id: string }[]) => orders.map((one) => one.id);

describe("tags on a thread", () => {
  test("hang likely late first, then oldest in the stage, then by number", () => {
    const tags = [
      order("d", { stage_since: "2026-06-03T08:00:00Z" }), order("c"), order("b"),
      order("a", { stage_since: "2026-06-05T08:00:00Z", likely_days_late: 1 }), order("e", { stage_since: "2026-06-06T08:00:00Z", likely_days_late: 4 }),
      order("f", { stage_since: "2026-06-04T08:00:00Z", likely_days_late: -3 }),
    ];
    expect(ids(tags.toSorted(byUrgency))).toEqual(["e", "a", "b", "c", "d", "f"]);
  });
  test("one column has one thread, and empty columns none", () => {
    const columns = scaleOf("2026-06-11", ["2026-06-11", "2026-06-12", "2026-06-15"]);
    const threads = threadsOf([order("a"), order("b", { promised_on: "2026-06-15" }), order("c")], columns);
    expect(threads.map(({ column, tags }) => [column, ids(tags)])).toEqual([[2, ["a", "c"]], [3, ["b"]]]);
  });
  test("a phone lists likely late first, then by promise", () => {
    const tags = [order("c", { promised_on: "2026-06-20" }), order("b"), order("a", { promised_on: "2026-07-20", likely_days_late: 2 })];
    expect(ids(tags.toSorted(byPromise))).toEqual(["a", "b", "c"]);
  });
  test("the shelf stands by wait, however late", () => {
    const tags = [order("new", { stage_since: "2026-06-10T08:00:00Z", likely_days_late: 9 }), order("old", { stage_since: "2026-05-20T08:00:00Z" })];
    expect(ids(tags.toSorted(byWait))).toEqual(["old", "new"]);
  });
});

describe("folding", () => {
  // LOOK.md section 4: a rail is at least 74 px high; the mock-up's rails take 95, 95, 132, 132 and 74 px.
  test("rails are as high as in the mock-up", () => {
    expect([2, 2, 3, 3, 1].map((rows) => railHeight(rows, TAG_SIZES))).toEqual([95, 95, 132, 132, 74]);
  });
  test("nothing folds while everything fits", () => {
    expect(rowsThatFit([2, 2, 3, 3, 1], 528, TAG_SIZES)).toEqual([2, 2, 3, 3, 1]);
  });
  test("the tallest stack folds first, the lower one of two", () => {
    expect(rowsThatFit([2, 2, 3, 3, 1], 527, TAG_SIZES)).toEqual([2, 2, 3, 2, 1]);
    expect(rowsThatFit([2, 9, 3, 3, 1], 528, TAG_SIZES)).toEqual([2, 3, 3, 2, 1]);
  });
  test("one row always stays", () => {
    expect(rowsThatFit([5, 5, 5, 5, 5], 0, TAG_SIZES)).toEqual([1, 1, 1, 1, 1]);
    expect(rowsThatFit([0, 0], 0, TAG_SIZES)).toEqual([1, 1]);
  });
  test("the last place of a folded thread says how many are behind it", () => {
    expect(fold(["a", "b", "c", "d"], 4)).toEqual({ shown: ["a", "b", "c", "d"], folded: [] });
    expect(fold(["a", "b", "c", "d"], 3)).toEqual({ shown: ["a", "b"], folded: ["c", "d"] });
    expect(fold(["a", "b"], 1)).toEqual({ shown: [], folded: ["a", "b"] });
  });
  test("no tag is lost, however little room there is", () => {
    for (let rows = 1; rows < 9; rows += 1) {
      const { shown, folded } = fold([1, 2, 3, 4, 5, 6, 7], rows);
      expect([...shown, ...folded]).toEqual([1, 2, 3, 4, 5, 6, 7]);
      expect(shown.length + (folded.length > 0 ? 1 : 0)).toBeLessThanOrEqual(rows);
    }
  });
});

describe("walking with the arrow keys", () => {
  const spots: Spot[] = [
    { id: "a", rail: 0, column: 3, row: 0 }, { id: "b", rail: 0, column: 3, row: 1 }, { id: "c", rail: 0, column: 7, row: 0 },
    { id: "d", rail: 2, column: 0, row: 0 }, { id: "e", rail: 2, column: 6, row: 0 }, { id: "f", rail: 2, column: 6, row: 1 },
  ];
  test.each([
    ["a", "ArrowRight", "c"], ["c", "ArrowLeft", "a"], ["a", "ArrowLeft", undefined], ["c", "ArrowRight", undefined],
    ["a", "ArrowDown", "b"], ["b", "ArrowUp", "a"], ["b", "ArrowDown", "d"], ["c", "ArrowDown", "e"], ["e", "ArrowDown", "f"],
    ["e", "ArrowUp", "c"], ["d", "ArrowUp", "b"], ["f", "ArrowDown", undefined],
  ] as const)("from %s with %s to %s", (from, key, to) => {
    expect(walk(spots, from, key)).toBe(to);
  });
  test("begins at the first tag when none is in hand", () => {
    expect(walk(spots, "nobody", "ArrowDown")).toBe("a");
  });
});

test("a tag cuts a first name and nothing else", () => {
  expect(["Jonas Lund", "Hollin Bridge School", "Lund", " Ana  Ruiz-Ortega "].map(nameOnTag)).toEqual(["Lund", "Hollin Bridge School", "Lund", "Ruiz-Ortega"]);
});
