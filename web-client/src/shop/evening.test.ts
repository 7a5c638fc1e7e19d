import { expect, test } from "vitest";
import type { BoardOrder, LikelyLate } from "../api/shapes";
import { eveningScale, holdsToLookAt, longOnShelf, needsAnotherLook, placeOn } from "./evening";

const TODAY = "2026-06-11";
const OPEN = ["2026-06-11", "2026-06-12", "2026-06-15", "2026-06-16", "2026-06-17", "2026-06-18", "2026-06-19", "2026-06-22", "2026-06-23", "2026-06-24", "2026-06-25", "2026-06-26", "2026-06-29", "2026-06-30", "2026-07-01", "2026-07-02"];
const late = (ready_p95: string) => ({ order: { ready_p95 } }) as LikelyLate;
const order = (more: Partial<BoardOrder>) => ({ stage: "bench", held: false, ...more }) as BoardOrder;

test("the scale reaches to the last likely date, and no further than there is room", () => {
  expect(eveningScale(TODAY, OPEN, [late("2026-06-18"), late("2026-06-16")]).at(-1)).toBe("2026-06-18");
  expect(eveningScale(TODAY, OPEN, [late("2026-09-01")])).toHaveLength(14);
  expect(eveningScale(TODAY, OPEN, [])).toHaveLength(5);
});

test("a date lies in the middle of its day; one on a closed day with the open day before it", () => {
  const scale = OPEN.slice(0, 5);
  expect(placeOn(scale, TODAY)).toBeCloseTo(0.1);
  expect(placeOn(scale, "2026-06-13")).toBe(placeOn(scale, "2026-06-12"));
  expect(placeOn(scale, "2026-06-09")).toBe("before");
  expect(placeOn(scale, "2026-07-01")).toBe("after");
});

test("what stands on the shelf for long comes first, and what came today not at all", () => {
  const orders = [order({ id: "a", stage: "pickup", stage_since: "2026-05-23" }), order({ id: "b", stage: "pickup", stage_since: TODAY }), order({ id: "c", stage: "pickup", stage_since: "2026-05-30" }), order({ id: "d", stage_since: "2026-01-01" })];
  expect(longOnShelf(orders, TODAY, 10, (instant) => instant).map((one) => [one.order.id, one.days])).toEqual([["a", 19], ["c", 12]]);
});

test("a hold is looked at on the evening before its day", () => {
  const orders = [order({ id: "a", held: true, held_until: "2026-06-12" }), order({ id: "b", held: true, held_until: "2026-06-15" }), order({ id: "c", held: true }), order({ id: "d", held: true, held_until: "2026-06-01" })];
  expect(holdsToLookAt(orders, TODAY, OPEN).map((one) => one.id)).toEqual(["a", "d"]);
});

test("a look at the bench holds until a flame burns after it", () => {
  const at = (clock: string) => `2026-06-11T${clock}:00Z`;
  expect(needsAnotherLook(at("18:00"), at("17:52"), 0)).toBe(false);
  expect(needsAnotherLook(at("18:00"), undefined, 0)).toBe(false);
  expect(needsAnotherLook(at("18:00"), at("18:20"), 0)).toBe(true);
  expect(needsAnotherLook(at("18:00"), at("17:52"), 1)).toBe(true);
});
