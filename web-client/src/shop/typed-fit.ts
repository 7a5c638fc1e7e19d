/** Diameters across one place of a tube, as the server takes them. */
export type TypedStation = { at_mm: number; diameters: { angle_deg: number; diameter_mm: number }[] };
/** One diameter of a shank. */
export type TypedShank = { at_mm: number; diameter_mm: number };

/** Rows of numbers, one a line, spaces or semicolons between, a decimal comma as a point; or the first line that is none, from 1. */
export function readRows(text: string, mark = /^\d+([.,]\d+)?$/): { rows: { line: number; numbers: number[] }[] } | { line: number } {
  const rows: { line: number; numbers: number[] }[] = [];
  for (const [at, line] of text.split(/\r\n|\n|\r/).entries()) {
    const fields = line.trim().split(/[\s;]+/).filter((field) => field !== "");
    if (fields.length === 0) continue;
    const numbers = fields.map((field) => (mark.test(field) ? Number(field.replace(",", ".").replace("−", "-")) : Number.NaN));
    if (numbers.some(Number.isNaN)) return { line: at + 1 };
    rows.push({ line: at + 1, numbers });
  }
  return { rows };
}

/**
 * Stations of a tube: the place in mm, then at least three diameters measured across it, the tool
 * turned on by the same angle each time. Three diameters stand at 0°, 60° and 120°, four at 0°, 45°,
 * 90° and 135°: half a turn is the first one again.
 */
export function readStations(text: string): { stations: TypedStation[] } | { line: number } {
  const read = readRows(text);
  if ("line" in read) return read;
  const short = read.rows.find((row) => row.numbers.length < 4);
  if (short !== undefined) return { line: short.line };
  return {
    stations: read.rows.map(({ numbers: [at_mm = 0, ...across] }) => ({ at_mm, diameters: across.map((diameter_mm, i) => ({ angle_deg: (i * 180) / across.length, diameter_mm })) })),
  };
}

/** Stations of a shank: the place in mm and one diameter. */
export function readShank(text: string): { stations: TypedShank[] } | { line: number } {
  const read = readRows(text);
  if ("line" in read) return read;
  const wrong = read.rows.find((row) => row.numbers.length !== 2);
  if (wrong !== undefined) return { line: wrong.line };
  return { stations: read.rows.map(({ numbers: [at_mm = 0, diameter_mm = 0] }) => ({ at_mm, diameter_mm })) };
}

/** Points all round one section: x and y in mm, which may lie below zero. */
export function readPoints(text: string): { points: [number, number][] } | { line: number } {
  const read = readRows(text, /^[-−]?\d+([.,]\d+)?$/);
  if ("line" in read) return read;
  const wrong = read.rows.find((row) => row.numbers.length !== 2);
  if (wrong !== undefined) return { line: wrong.line };
  return { points: read.rows.map(({ numbers: [x = 0, y = 0] }) => [x, y]) };
}
