/** What is measured of a part. */
export type Measured = "length" | "diameter" | "wall";

/** mm: what the server takes (a wall is besides at most half the diameter). */
const RANGES: Record<Measured, readonly [number, number]> = { length: [1, 3000], diameter: [1, 600], wall: [0.1, 300] };
/** So many times more or less than what is typical is asked about (common practice, no source): a
 * wall is often guessed, and lengths differ more between makes than bores do. */
const FAR: Record<Measured, number> = { length: 2, diameter: 1.5, wall: 2.5 };

/** The range of a measure where a value lies outside it. */
export function rangeBeyond(what: Measured, mm: number): readonly [number, number] | undefined {
  const range = RANGES[what];
  return mm >= range[0] && mm <= range[1] ? undefined : range;
}

/** Whether a value is so far from what is known that it may have been typed wrongly. */
export function isFar(what: Measured, mm: number, known: number): boolean {
  return known > 0 && (mm > known * FAR[what] || mm < known / FAR[what]);
}
