/** Where on its part a finding is, as its form has it: the side, and millimetres along as typed. */
export type Pointed = {
  side: string;
  position: string;
  /** Whether a person chose the side by its own button, or typed the millimetres. */
  saidSide: boolean;
  saidPosition: boolean;
};

/**
 * A tap on the drawing. What a person said by hand stays while it is about the same part: the
 * drawing knows it less well. Another part is another place, and nothing of the first is true there.
 */
export function pointedAt(before: Pointed, tap: { samePart: boolean; side: string | undefined; mm: number | undefined }): Pointed {
  const [keepSide, keepPosition] = [tap.samePart && before.saidSide, tap.samePart && before.saidPosition];
  return {
    side: keepSide ? before.side : tap.side ?? "",
    position: keepPosition ? before.position : tap.mm === undefined ? "" : String(tap.mm),
    saidSide: keepSide,
    saidPosition: keepPosition,
  };
}
