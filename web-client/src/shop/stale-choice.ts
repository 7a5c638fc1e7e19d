import type { Stale } from "../api/shapes";

/**
 * What is sent again after somebody else wrote first: what differs stands as written here only where
 * that was chosen, else it is left out and stays as the other one wrote it.
 */
export function standing<T extends object>(tried: T, stale: Pick<Stale, "differences">, mine: ReadonlySet<string>): Partial<T> {
  const theirs = new Set((stale.differences ?? []).map((one) => one.field).filter((field) => !mine.has(field)));
  const rest: Partial<T> = { ...tried };
  for (const field of Object.keys(tried)) {
    if (theirs.has(field)) Reflect.deleteProperty(rest, field);
  }
  return rest;
}
