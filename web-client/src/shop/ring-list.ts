import type { RingLine } from "../api/shapes";

/** How many people there are to ring: one who waits for news of three instruments is rung once. */
export function peopleToRing(lines: readonly Pick<RingLine, "customer_id">[]): number {
  return new Set(lines.map((one) => one.customer_id)).size;
}
