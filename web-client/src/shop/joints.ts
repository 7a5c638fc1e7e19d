import type { BenchSettings, JointKind, PartMap } from "../api/shapes";

/** What can be taken apart on a map, and how each of its joints is held. */
export type Separable = { id: string; name: string; held: readonly JointKind[] };

/** Braces, which come off at both feet, then every other joint that can come apart. What was struck is not there. */
export function jointsToChoose(map: Pick<PartMap, "parts" | "joints">): Separable[] {
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const braces = there(map.parts).filter((part) => part.kind === "brace");
  const holding = (id: string) => there(map.joints).filter((joint) => joint.places.some((place) => place.part === id));
  const isFoot = (joint: PartMap["joints"][number]) => joint.places.some((place) => braces.some((brace) => brace.id === place.part));
  return [
    ...braces.map(({ id, name }) => ({ id, name, held: holding(id).map((joint) => joint.held) })),
    ...there(map.joints).filter((joint) => !isFoot(joint) && joint.held !== "brazed").map(({ id, name, held }) => ({ id, name, held: [held] })),
  ];
}

/** Minutes that the shop is set to for taking this apart or putting it together; none where a joint of it cannot be. */
export function minutesOf(held: readonly JointKind[], settings: BenchSettings["take_apart_minutes"]): number | undefined {
  return held.reduce<number | undefined>((sum, kind) => (sum === undefined || kind === "brazed" ? undefined : sum + settings[kind]), 0);
}
