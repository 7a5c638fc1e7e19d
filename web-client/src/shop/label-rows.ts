/** A label over a plot: where it belongs, how wide it is, and how many rows it takes. */
export type Label = { at: number; width: number; rows?: number };

/**
 * Rows for labels, so that none lies over another: each is centred on its place, kept within the
 * plot, and goes into the first row where it is free. Gives left edge and first row (from 0), in order.
 */
export function labelRows(labels: readonly Label[], width: number, gap: number): { left: number; row: number }[] {
  const taken: { left: number; right: number }[][] = [];
  return labels.map(({ at, width: wide, rows = 1 }) => {
    const left = Math.max(0, Math.min(width - wide, at - wide / 2));
    const right = left + wide;
    const isFree = (row: number) => (taken[row] ?? []).every((one) => right + gap <= one.left || one.right + gap <= left);
    let row = 0;
    while (!Array.from({ length: rows }, (_, i) => row + i).every(isFree)) row += 1;
    for (let i = 0; i < rows; i += 1) taken[row + i] = [...(taken[row + i] ?? []), { left, right }];
    return { left, row };
  });
}

/**
 * A label in as many rows as it needs: its pieces side by side where they fit, else one below
 * another, and one that is too wide by itself is broken between its words.
 */
export function inRows(pieces: readonly string[], between: string, most: number, letter: number): string[] {
  const together = pieces.join(between);
  const fits = (text: string) => text.length * letter <= most;
  if (fits(together)) return [together];
  return pieces.map((piece, at) => (at < pieces.length - 1 ? piece + between.trimEnd() : piece)).flatMap((piece) => {
    const rows: string[] = [];
    // A figure stays with its unit.
    for (const word of piece.replaceAll(/(\d) (?=°|mm)/g, "$1\u00a0").split(" ")) {
      const last = rows.at(-1);
      if (last !== undefined && fits(`${last} ${word}`)) rows[rows.length - 1] = `${last} ${word}`;
      else rows.push(word);
    }
    return rows.map((row) => row.replaceAll("\u00a0", " "));
  });
}

/** A box on a plot. */
export type Box = { left: number; top: number; right: number; bottom: number };

/** Whether two boxes share any place. */
export function overlap(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/** The first of these boxes through which fewest of the lines go. */
export function clearest<B extends Box>(boxes: readonly [B, ...B[]], lines: readonly (readonly { x: number; y: number }[])[]): B {
  const through = (box: B) => lines.reduce((sum, line) => sum + line.slice(1).filter((b, at) => crosses(line[at] ?? b, b, box)).length, 0);
  return boxes.reduce((best, box) => (through(box) < through(best) ? box : best));
}

/** Whether a stretch shares any place with a box: the part of it over the box, against its height. */
function crosses(a: { x: number; y: number }, b: { x: number; y: number }, box: Box): boolean {
  const [from, to] = a.x <= b.x ? [a, b] : [b, a];
  if (to.x < box.left || from.x > box.right) return false;
  const y = (x: number) => (to.x === from.x ? from.y : from.y + ((x - from.x) / (to.x - from.x)) * (to.y - from.y));
  const ends = [y(Math.max(from.x, box.left)), y(Math.min(to.x, box.right))];
  return Math.max(...ends) >= box.top && Math.min(...ends) <= box.bottom;
}
