import type { Family, FindingKind } from "../api/shapes";

const BRASS: readonly FindingKind[] = [
  "dent", "open_joint", "slide", "valve", "bent", "crack", "red_rot", "stuck_mouthpiece", "out_of_round", "plating_loss", "lacquer_loss", "valve_alignment", "earlier_repair", "worn_cork", "pitting", "other",
];
const KEYED: readonly FindingKind[] = [
  "leaking_pad", "worn_cork", "keys_not_together", "key_height", "bent_key", "broken_spring", "lost_motion", "seized_screw", "chipped_tone_hole", "earlier_repair", "other",
];
const WOOD: readonly FindingKind[] = ["loose_tenon", "wood_crack"];
const METAL: readonly FindingKind[] = ["dent", "open_joint", "bent", "plating_loss", "lacquer_loss"];

const before = (of: readonly FindingKind[], last: FindingKind, more: readonly FindingKind[]): readonly FindingKind[] => {
  const at = of.indexOf(last);
  return [...of.slice(0, at), ...more, ...of.slice(at)];
};

/** By family, the commonest first; from bench practice, no source. */
const USUAL: Record<Family, readonly FindingKind[]> = {
  trumpet: BRASS, cornet: BRASS, flugelhorn: BRASS, baritone: BRASS,
  trombone: BRASS,
  tuba: before(BRASS, "red_rot", ["linkage"]),
  horn: before(BRASS, "bent", ["linkage"]),
  flute: before(KEYED, "chipped_tone_hole", METAL),
  saxophone: before(KEYED, "chipped_tone_hole", METAL),
  clarinet: before(KEYED, "chipped_tone_hole", WOOD),
  oboe: before(KEYED, "chipped_tone_hole", WOOD),
  bassoon: before(KEYED, "chipped_tone_hole", WOOD),
  other: [],
};

/** The kinds of finding that such an instrument usually has, the commonest first; none where nothing is known of it. */
export function usualKinds(family: Family): readonly FindingKind[] {
  return USUAL[family];
}
