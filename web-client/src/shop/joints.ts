import type { PartMap } from "../api/shapes";

/** What can be taken apart on a map: braces, which come off at both feet, then every other joint. What was struck is not there. */
export function jointsToChoose(map: Pick<PartMap, "parts" | "joints">): { id: string; name: string; soldered: boolean }[] {
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const braces = there(map.parts).filter((part) => part.kind === "brace");
  const holds = (id: string) => there(map.joints).filter((joint) => joint.places.some((place) => place.part === id));
  const isFoot = (joint: PartMap["joints"][number]) => joint.places.some((place) => braces.some((brace) => brace.id === place.part));
  return [
    ...braces.map(({ id, name }) => ({ id, name, soldered: holds(id).some((joint) => joint.held === "soft_soldered") })),
    ...there(map.joints).filter((joint) => !isFoot(joint) && joint.held !== "brazed").map(({ id, name, held }) => ({ id, name, soldered: held === "soft_soldered" })),
  ];
}
