import { clearest, overlap, type Box } from "./label-rows";

type Curve = readonly { x: number; y: number }[];
type Words = { lines: readonly string[] };
/** The plot's own edges, px. */
export type Plot = { left: number; right: number; top: number; bottom: number };

/** Height of a row of words, and how far its letters reach above and below the line they stand on, px. */
export const ROW = 21;
const [ABOVE, BELOW] = [15, 5];

/**
 * Where the words of a chart of levels stand: those of a level on it or under what is kept below
 * it, those of the way round in a corner. Where fewest curves run through them, but never over
 * other words and never beyond the plot: `undefined` are words for which the plot has no room.
 * `letter`: about how wide a letter is, px.
 */
export function plotWords({ plot, letter, levels, way, curves }: {
  plot: Plot;
  letter: number;
  /** `base`: height of the level; `under`: height of what is kept below it. */
  levels: readonly (Words & { base: number; under: number })[];
  way?: Words | undefined;
  curves: readonly Curve[];
}): { levels: (Box | undefined)[]; way: Box | undefined } {
  const taken: Box[] = [];
  const put = (lines: readonly string[], firsts: readonly number[]): Box | undefined => {
    const wide = Math.max(0, ...lines.map((line) => line.length)) * letter;
    const sides = [plot.left + 6, plot.right - 6 - wide];
    const places = firsts.flatMap((first) => sides.map((left): Box => ({ left, right: left + wide, top: first - ABOVE, bottom: first + BELOW + (lines.length - 1) * ROW })));
    const isIn = (box: Box) => box.left >= plot.left && box.right <= plot.right && box.top >= plot.top && box.bottom <= plot.bottom;
    const [first, ...rest] = places.filter((box) => isIn(box) && !taken.some((other) => overlap(box, other)));
    if (first === undefined || lines.length === 0) return undefined;
    const box = clearest([first, ...rest], curves);
    taken.push(box);
    return box;
  };
  const more = (lines: readonly string[]) => (lines.length - 1) * ROW;
  return {
    levels: levels.map(({ lines, base, under }) => put(lines, [under + 18, base - 7 - more(lines)])),
    // Above the curve only where there is no room under it.
    way: way === undefined ? undefined : put(way.lines, [0, 1, 2, 3].map((up) => plot.bottom - 8 - more(way.lines) - up * ROW).concat(plot.top + ROW)),
  };
}
