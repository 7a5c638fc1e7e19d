import type { PartMap } from "../api/shapes";

/** How far a place on a part lies from the nearest thing that is joined there. */
export type FromJoint = { away_mm: number; name: string };

/**
 * The nearest joint of a part to a place on it, by the name of what is joined there: a brace, or the
 * next tube. `undefined` where the map does not have the part, or nothing is joined to it.
 */
export function nearestJoint(map: Pick<PartMap, "parts" | "joints">, word: string, mm: number): FromJoint | undefined {
  const said = word.trim().toLowerCase();
  const there = map.parts.filter((one) => !one.struck_reason);
  const part = there.find((one) => one.id === word) ?? there.find((one) => one.name.toLowerCase() === said) ?? there.find((one) => one.listed_as?.toLowerCase() === said);
  if (part === undefined) return undefined;
  let nearest: FromJoint | undefined;
  for (const { places, struck_reason } of map.joints) {
    if (struck_reason) continue;
    for (const [own, other] of [[places[0], places[1]], [places[1], places[0]]] as const) {
      const held = there.find((one) => one.id === other?.part);
      if (own?.part !== part.id || held === undefined || held.id === part.id) continue;
      const away_mm = Math.abs(own.at_mm - mm);
      if (nearest === undefined || away_mm < nearest.away_mm) nearest = { away_mm, name: held.name };
    }
  }
  return nearest;
}
