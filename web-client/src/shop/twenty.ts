/**
 * Twenty equally likely dates on which an order would be ready, as the forecast gives them, and
 * what a date told to a customer means against them.
 */

/** So many dots stand over one date; filled when the date is on or before the one chosen. */
export type Stack = { from: string; to: string; count: number; filled: number };

/** How many of the dates lie on or before the day. */
export function readyBy(dates: readonly string[], day: string): number {
  return dates.filter((date) => date <= day).length;
}

/** The first date by which so many of the dates are reached; `undefined` when there are fewer. */
export function firstWith(dates: readonly string[], count: number): string | undefined {
  return dates.toSorted()[count - 1];
}

/**
 * The dots in stacks from the earliest date to the latest: one stack a date, neighbours together
 * where there would be more than `most` stacks. Every date is in exactly one stack, and none lies
 * across the day chosen: its dots are all filled or all empty.
 */
export function stacksOf(dates: readonly string[], chosen: string, most: number): Stack[] {
  const days = [...new Set(dates)].toSorted();
  const sides = [days.filter((day) => day <= chosen), days.filter((day) => day > chosen)];
  // Each side has a stack at least.
  let perStack = 1;
  while (perStack < days.length && sides.reduce((sum, side) => sum + Math.ceil(side.length / perStack), 0) > most) perStack += 1;
  const stacks: Stack[] = [];
  const groups = sides.flatMap((side) => Array.from({ length: Math.ceil(side.length / perStack) }, (_, at) => side.slice(at * perStack, (at + 1) * perStack)));
  for (const inStack of groups) {
    const within = dates.filter((date) => inStack.includes(date));
    stacks.push({ from: inStack[0] ?? "", to: inStack.at(-1) ?? "", count: within.length, filled: chosen === "" ? 0 : readyBy(within, chosen) });
  }
  return stacks;
}

/** Below this many of twenty the person says why the date is promised nevertheless. */
export const LEAST_OF_TWENTY = 10;
/** What a promise opens with: the first date with so many of twenty. */
export const USUAL_OF_TWENTY = 17;
