import type { BoardOrder } from "../api/shapes";

/** So many orders are looked through for a running clock; whoever works has far fewer in hand. */
const MOST_LOOKED_AT = 12;

/** The orders in which a clock of this person may run, the likelier first. */
export function mayHoldClock(orders: readonly BoardOrder[], person: string, but: string): BoardOrder[] {
  const rank = (order: BoardOrder) => (order.claimed_by?.id === person ? 0 : 1) + (order.stage === "bench" ? 0 : 2);
  return orders
    .filter((order) => order.id !== but && (order.stage === "bench" || order.stage === "approval"))
    .sort((a, b) => rank(a) - rank(b))
    .slice(0, MOST_LOOKED_AT);
}
