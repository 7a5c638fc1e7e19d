import type { PartMap } from "../api/shapes";
import type { Box } from "./label-rows";
import type { Point } from "./part-line";

/** A part to be named, and the point of the sheet that is on it. */
export type Wanted = { id: string; name: string; at: Point };

/** How wide a letter is against its height, in the screen's sans serif; generous, so that nothing overlaps. */
const LETTER = 0.62;
/** Rows above and below a part in which a name is looked for. */
const ROWS = [-1.2, 1.2, -2.4, 2.4, -3.6, 3.6, 0];

const apart = (a: Box, b: Box) => a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;

/**
 * Places for names on a drawing, the most wanted first: each within the sheet and over nothing that
 * is taken or placed. A name without room is left out: it stands in the list, and comes with the zoom.
 */
export function placeNames(wanted: readonly Wanted[], taken: readonly Box[], sheet: { width: number; height: number }, size: number): (Box & { id: string; name: string })[] {
  const placed: (Box & { id: string; name: string })[] = [];
  for (const { id, name, at } of wanted) {
    const wide = name.length * size * LETTER;
    const boxes = ROWS.flatMap((row) => [0, -0.5, 0.5].map((aside): Box => {
      const left = Math.max(0, Math.min(sheet.width - wide, at.x - wide / 2 + aside * wide));
      const middle = at.y + row * size;
      return { left, right: left + wide, top: middle - size * 0.6, bottom: middle + size * 0.6 };
    }));
    const free = boxes.find((box) => box.left >= 0 && box.right <= sheet.width && box.top >= 0 && box.bottom <= sheet.height && [...taken, ...placed].every((one) => apart(one, box)));
    if (free !== undefined) placed.push({ ...free, id, name });
  }
  return placed;
}

/** Which parts are named where there is no room for all: the one in hand, those with a finding, those that were measured. */
export function namedParts(map: Pick<PartMap, "parts">, now: string | undefined, found: readonly string[]): { id: string; name: string }[] {
  const there = map.parts.filter((part) => !part.struck_reason);
  const isFound = (part: (typeof there)[number]) => found.includes(part.id);
  const isMeasured = (part: (typeof there)[number]) => [part.length, part.wall, ...part.diameters.map((one) => one.outside_diameter)].some((one) => one?.basis === "measured");
  const rank = (part: (typeof there)[number]) => (part.id === now ? 0 : isFound(part) ? 1 : isMeasured(part) ? 2 : 3);
  return there.map((part) => ({ part, rank: rank(part) })).filter((one) => one.rank < 3).toSorted((a, b) => a.rank - b.rank).map(({ part: { id, name } }) => ({ id, name }));
}
