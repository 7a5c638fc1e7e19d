import type { BoardOrder, PersonRef, WaitsFor } from "../api/shapes";

/** What of the board is shown; it stands in the address bar as `?show=`. */
export type Filter =
  | { kind: "all" }
  | { kind: "late" }
  | { kind: "turn"; of: WaitsFor }
  | { kind: "person"; id: string };

export const TURNS = ["shop", "customer", "supplier"] as const satisfies readonly WaitsFor[];

/** Reads the filter from the address; anything unknown shows all. */
export function readFilter(show: string | undefined, people: readonly PersonRef[]): Filter {
  if (show === "late") return { kind: "late" };
  const turn = TURNS.find((of) => of === show);
  if (turn !== undefined) return { kind: "turn", of: turn };
  const person = people.find((one) => one.id === show);
  return person === undefined ? { kind: "all" } : { kind: "person", id: person.id };
}

/** What stands in the address for it; empty for all. */
export function filterInAddress(filter: Filter): string {
  switch (filter.kind) {
    case "all": return "";
    case "late": return "late";
    case "turn": return filter.of;
    case "person": return filter.id;
  }
}

export function passes(order: BoardOrder, filter: Filter): boolean {
  switch (filter.kind) {
    case "all": return true;
    case "late": return isLikelyLate(order);
    case "turn": return order.waits_for === filter.of;
    case "person": return order.claimed_by?.id === filter.id;
  }
}

export function isLikelyLate(order: BoardOrder): boolean {
  return (order.likely_days_late ?? 0) > 0;
}

/** Whether the server forecasts at all: without a single figure there is nothing to count. */
export function isForecast(orders: readonly BoardOrder[]): boolean {
  return orders.some((order) => typeof order.likely_days_late === "number");
}
