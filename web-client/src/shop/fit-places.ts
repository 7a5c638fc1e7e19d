import type { FitKind, PartMap } from "../api/shapes";

type Named = { id: string; name: string };

/**
 * Parts as the families' maps call them by id. An id stays when a shop calls the part something else
 * or speaks another language; further parts of the kind have it as their beginning.
 */
const HAND_SLIDES = ["hand-slide-inner", "hand-slide-outer"];
const RECEIVERS = ["mouthpiece-receiver"];
const isAmong = (ids: readonly string[], id: string) => ids.some((one) => id === one || id.startsWith(`${one}-`));

/** Where on this instrument such a fit is, and everything else of it; what was struck is not there. */
export function fitPlaces(map: Pick<PartMap, "parts" | "joints">, kind: FitKind): { fitting: Named[]; others: Named[] } {
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const [parts, joints] = [there(map.parts), there(map.joints)];
  const isValve = (id: string) => ["piston", "rotor"].includes(parts.find((part) => part.id === id)?.kind ?? "");
  const isHandSlide = (id: string) => isAmong(HAND_SLIDES, id);
  const ends = (joint: (typeof joints)[number]) => joint.places.map((place) => place.part);
  const slides = joints.filter((joint) => joint.held === "slide_fit");
  const found: Record<FitKind, () => readonly Named[]> = {
    valve: () => slides.filter((joint) => ends(joint).some(isValve)),
    hand_slide: () => slides.filter((joint) => ends(joint).every(isHandSlide)),
    tuning_slide: () => slides.filter((joint) => !ends(joint).some(isValve) && !ends(joint).every(isHandSlide)),
    shank: () => parts.filter((part) => isAmong(RECEIVERS, part.id)),
    tenon_with_cork: () => joints.filter((joint) => joint.held === "tenon_and_cork"),
  };
  const bare = ({ id, name }: Named): Named => ({ id, name });
  const fitting = found[kind]().map(bare);
  return { fitting, others: [...parts, ...joints].filter((one) => !fitting.some((fit) => fit.id === one.id)).map(bare) };
}

const KINDS: readonly FitKind[] = ["tuning_slide", "hand_slide", "valve", "tenon_with_cork", "shank"];

/** The first kind of fit that this instrument has. */
export function firstFitKind(map: Pick<PartMap, "parts" | "joints">): FitKind {
  return KINDS.find((kind) => fitPlaces(map, kind).fitting.length > 0) ?? "tuning_slide";
}
