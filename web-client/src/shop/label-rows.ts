/** A label over a plot: where it belongs, and how wide it is. */
export type Label = { at: number; width: number };

/**
 * Rows for labels, so that none lies over another: each is centred on its place, kept within the
 * plot, and goes into the first row where it is free. Gives left edge and row (from 0), in order.
 */
export function labelRows(labels: readonly Label[], width: number, gap: number): { left: number; row: number }[] {
  const taken: { left: number; right: number }[][] = [];
  return labels.map(({ at, width: wide }) => {
    const left = Math.max(0, Math.min(width - wide, at - wide / 2));
    const right = left + wide;
    const free = taken.findIndex((row) => row.every((one) => right + gap <= one.left || one.right + gap <= left));
    const row = free < 0 ? taken.length : free;
    taken[row] = [...(taken[row] ?? []), { left, right }];
    return { left, row };
  });
}
