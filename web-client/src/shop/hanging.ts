import type { BoardOrder, Stage } from "../api/shapes";
import { columnOf, type Column } from "./scale";

/** The rails of the board, from the top. Pickup is a shelf and stands apart. */
export const RAILS = ["intake", "diagnosis", "approval", "bench", "leak_test"] as const satisfies readonly Stage[];

/** One thread: the tags of one column, the first one on top. */
export type Thread = { column: number; tags: BoardOrder[] };

/** Likely late first, then whoever has waited in the stage longest, then the claim number. */
export function byUrgency(a: BoardOrder, b: BoardOrder): number {
  const late = (order: BoardOrder) => Math.max(0, order.likely_days_late ?? 0);
  return late(b) - late(a) || compare(a.stage_since, b.stage_since) || compare(a.claim_number, b.claim_number);
}

/** For the list on a phone: likely late first, then by promise. */
export function byPromise(a: BoardOrder, b: BoardOrder): number {
  const late = (order: BoardOrder) => Math.max(0, order.likely_days_late ?? 0);
  return late(b) - late(a) || compare(a.promised_on, b.promised_on) || byUrgency(a, b);
}

/** For the shelf: the longest wait first. */
export function byWait(a: BoardOrder, b: BoardOrder): number {
  return compare(a.stage_since, b.stage_since) || compare(a.claim_number, b.claim_number);
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** The threads of one rail, by column from the left; a column without a tag has none. */
export function threadsOf(orders: readonly BoardOrder[], columns: readonly Column[]): Thread[] {
  const threads = new Map<number, BoardOrder[]>();
  for (const order of orders.toSorted(byUrgency)) {
    const column = columnOf(columns, order.promised_on);
    threads.set(column, [...(threads.get(column) ?? []), order]);
  }
  return [...threads].map(([column, tags]) => ({ column, tags })).sort((a, b) => a.column - b.column);
}

/** Sizes of the board in CSS px. */
export type Sizes = { row: number; gap: number; above: number; least: number };
export const TAG_SIZES: Sizes = { row: 33, gap: 4, above: 21, least: 74 };

/** How high a rail with so many rows is. */
export function railHeight(rows: number, sizes: Sizes): number {
  return Math.max(sizes.least, rows * (sizes.row + sizes.gap) + sizes.above);
}

/**
 * How many rows each rail may show in the height left, so that the tallest stacks fold first.
 *
 * `depths`: the deepest thread of each rail. Never fewer than one row; when even that does not
 * fit, the page scrolls. Of equally tall rails the lower one folds first.
 */
export function rowsThatFit(depths: readonly number[], height: number, sizes: Sizes): number[] {
  const rows = depths.map((depth) => Math.max(1, depth));
  const total = () => rows.reduce((sum, count) => sum + railHeight(count, sizes), 0);
  while (total() > height) {
    const tallest = Math.max(...rows);
    if (tallest === 1) break;
    rows[rows.lastIndexOf(tallest)] = tallest - 1;
  }
  return rows;
}

/** A thread folded to so many rows: what hangs, and what lies behind the last "+5". */
export function fold<T>(tags: readonly T[], rows: number): { shown: T[]; folded: T[] } {
  if (tags.length <= rows) return { shown: [...tags], folded: [] };
  return { shown: tags.slice(0, rows - 1), folded: tags.slice(rows - 1) };
}

/** Where a tag hangs: its rail from the top, its column from the left, its row on the thread (all from 0). */
export type Spot = { id: string; rail: number; column: number; row: number };

/**
 * The tag an arrow key leads to from `from`; `undefined` where there is none.
 * Left and right follow the rail; up and down follow the thread, and at its end go to the nearest
 * tag of the next rail that has any.
 */
export function walk(spots: readonly Spot[], from: string, key: "ArrowLeft" | "ArrowRight" | "ArrowUp" | "ArrowDown"): string | undefined {
  const here = spots.find((spot) => spot.id === from);
  if (here === undefined) return spots[0]?.id;
  if (key === "ArrowLeft" || key === "ArrowRight") {
    const side = key === "ArrowLeft" ? -1 : 1;
    const onRail = spots.filter((spot) => spot.rail === here.rail && (spot.column - here.column) * side > 0);
    return nearest(onRail, (spot) => [Math.abs(spot.column - here.column), Math.abs(spot.row - here.row)]);
  }
  const side = key === "ArrowUp" ? -1 : 1;
  const onThread = spots.filter(
    (spot) => spot.rail === here.rail && spot.column === here.column && (spot.row - here.row) * side > 0,
  );
  return (
    nearest(onThread, (spot) => [Math.abs(spot.row - here.row)]) ??
    nearest(
      spots.filter((spot) => (spot.rail - here.rail) * side > 0),
      (spot) => [Math.abs(spot.rail - here.rail), Math.abs(spot.column - here.column), side > 0 ? spot.row : -spot.row],
    )
  );
}

/** The spot with the least measures, compared one after the other. */
function nearest(spots: readonly Spot[], measures: (spot: Spot) => number[]): string | undefined {
  const less = (a: number[], b: number[]) => {
    const at = a.findIndex((value, i) => value !== b[i]);
    return at >= 0 && (a[at] ?? 0) < (b[at] ?? 0);
  };
  return spots.reduce<Spot | undefined>(
    (best, spot) => (best === undefined || less(measures(spot), measures(best)) ? spot : best),
    undefined,
  )?.id;
}

/**
 * The customer as it fits on a tag: of a name of two words the last, else the name as it is. Only
 * for the tag; wherever there is room, the whole name is shown.
 */
export function nameOnTag(name: string): string {
  const parts = name.trim().split(/\s+/);
  return parts.length === 2 ? (parts[1] ?? name) : name;
}
