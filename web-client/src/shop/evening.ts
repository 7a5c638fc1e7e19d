import type { BoardOrder, LikelyLate } from "../api/shapes";
import { daysBetween } from "./dates";

/** The most days that stand side by side over the bars. */
const MOST_DAYS = 14;

/**
 * The open days of the evening's scale: from today to the last likely date of these orders, as far
 * as there is room. A date lies on the scale in the middle of its day.
 */
export function eveningScale(today: string, openDays: readonly string[], late: readonly LikelyLate[]): string[] {
  const last = late.map((one) => one.order.ready_p95).reduce((a, b) => (a > b ? a : b), today);
  const days = [today, ...openDays.filter((day) => day > today)];
  const until = days.findIndex((day) => day >= last);
  const wanted = until < 0 ? days.length : until + 1;
  return days.slice(0, Math.max(5, Math.min(MOST_DAYS, wanted)));
}

/** Where a date lies on the scale, 0 to 1; before its first and after its last day it is told apart. */
export function placeOn(scale: readonly string[], date: string): number | "before" | "after" {
  const first = scale[0];
  const last = scale.at(-1);
  if (first === undefined || last === undefined || date < first) return "before";
  if (date > last) return "after";
  // A promise on a closed day stands with the open day before it.
  const at = scale.findLastIndex((day) => day <= date);
  return (at + 0.5) / scale.length;
}

/** Orders on the shelf for longer than so many days, the longest first. */
export function longOnShelf(orders: readonly BoardOrder[], today: string, days: number, dateOf: (instant: string) => string): { order: BoardOrder; days: number }[] {
  return orders
    .filter((order) => order.stage === "pickup")
    .map((order) => ({ order, days: daysBetween(dateOf(order.stage_since), today) }))
    .filter((one) => one.days > days)
    .sort((a, b) => b.days - a.days);
}

/** Holds whose day to look again is tomorrow's opening or has come. */
export function holdsToLookAt(orders: readonly BoardOrder[], today: string, openDays: readonly string[]): BoardOrder[] {
  const next = openDays.find((day) => day > today) ?? today;
  return orders.filter((order) => order.held && order.held_until != null && order.held_until <= next);
}

/** Whether the bench was looked at before the last flame went out, or while one burns. */
export function needsAnotherLook(lookedAt: string, lastFlameAt: string | undefined, burningCount: number): boolean {
  return burningCount > 0 || (lastFlameAt !== undefined && Date.parse(lastFlameAt) > Date.parse(lookedAt));
}
