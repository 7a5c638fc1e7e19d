import type { BenchSettings, Heat, JointKind, Minutes, NewOperation, PartMap, PlanStep } from "../api/shapes";

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

/** Unsoldering is torch work, and soldering is. */
export function heatOf(held: readonly JointKind[]): Heat {
  return held.includes("soft_soldered") ? "solder" : "none";
}

/**
 * The range around the shop's usual minutes for a joint: some give at once, an old one holds. Three
 * quarters to one and a half times; common practice, no source, until the shop's own jobs say more.
 */
export function rangeAround(minutes: number): Minutes {
  return { low: Math.floor(minutes * 0.75), typical: minutes, high: Math.ceil(minutes * 1.5) };
}

/** A step that the plan proposes by itself, as an operation of the order; it has no price of its own. */
export function operationOf(step: PlanStep, map: Pick<PartMap, "joints">, currency: string): NewOperation {
  const ids = step.joint?.joint_ids ?? [];
  return {
    title: step.words,
    kind: step.kind === "take_apart" ? "take_apart" : "put_together",
    heat: heatOf(map.joints.filter((joint) => ids.includes(joint.id)).map((joint) => joint.held)),
    irreversible: false,
    finding_ids: [],
    after: [],
    ...(step.joint == null ? {} : { joint: step.joint.id }),
    minutes: rangeAround(step.minutes),
    price: { amount: "0", currency },
  };
}

/** What to be careful of with a torch at this heat, where no plan has looked at what stands near it. */
export const HEAT_CAUTIONS: Record<Heat, readonly string[]> = { none: [], solder: ["torch", "flux-fume", "lead"], braze: ["torch", "flux-fume", "zinc-fume"] };
