import type { Method } from "../api/shapes";

/** On how many of the shop's own jobs the minutes in the fields rest; none once somebody typed others. */
export function ownJobs(method: Pick<Method, "minutes" | "own_count"> | undefined, typed: { low: string; typical: string; high: string }): number | undefined {
  if (method?.own_count == null) return undefined;
  const { minutes } = method;
  const asProposed = (["low", "typical", "high"] as const).every((name) => typed[name].trim() === String(minutes[name]));
  return asProposed ? method.own_count : undefined;
}
