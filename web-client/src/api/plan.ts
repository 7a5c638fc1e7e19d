/**
 * The plan of an order's bench work, as `/work-orders/{id}/plan` tells it. Written by hand until the
 * OpenAPI document holds it; then `shapes.ts` takes these names from there and this file goes.
 */

/** A joint, or all that come apart together. */
export type PlanJoint = { id: string; name: string; joint_ids: string[] };

/** Temperature along the tube straightened out, °C over mm: as planned and with cautious values. */
export type HeatCurve = {
  points: { position_mm: number; temperature_c: number; temperature_high_c: number }[];
  parts: { part_id: string; name: string; from_mm: number; to_mm: number }[];
  torch_from_mm: number;
  torch_to_mm: number;
  joint_at_mm: number;
};

/** A way round a conflict, with its minutes. */
export type Way = {
  how: "take_apart" | "heat_sink" | "water" | "other_method";
  words: string;
  allowed: boolean;
  why_not?: string | null;
  minutes: number;
  plan_minutes?: number | null;
  chosen: boolean;
  method_id?: string | null;
  temperature_c?: number | null;
  temperature_high_c?: number | null;
  curve?: HeatCurve | null;
};

/** A joint in the heat of an operation, and the ways round it. */
export type HeatConflict = {
  operation_id: string;
  joint: PlanJoint;
  worst_joint_id: string;
  verdict: "safe" | "at_risk" | "melts";
  words: string;
  temperature_c: number;
  temperature_high_c: number;
  melts_at_c: number;
  limit_c: number;
  filler: string;
  filler_known: boolean;
  torch_c: number;
  distance_mm: number;
  curve: HeatCurve;
  ways: Way[];
};

export type PlanStep = {
  number: number;
  kind: "operation" | "take_apart" | "put_together";
  operation_id?: string | null;
  joint?: PlanJoint | null;
  method_id?: string | null;
  words: string;
  station?: string | null;
  changeover_minutes: number;
  minutes: number;
  protections: { joint: PlanJoint; how: Way["how"]; minutes: number }[];
  running_minutes: number;
  cautions: string[];
  /** The answer of filler-amount. */
  filler?: Record<string, unknown> | null;
  /** The answer of plating-charge. */
  plating?: Record<string, unknown> | null;
};

/** What has no way round, or no place on the map. */
type NoWay = { operation_id?: string | null; joint?: PlanJoint | null; words: string };

export type Plan = {
  version: number;
  order_version: number;
  steps: PlanStep[];
  total_minutes?: number | null;
  proven_optimal: boolean;
  lower_bound?: number | null;
  conflicts: HeatConflict[];
  impossible: NoWay[];
  unplaced: NoWay[];
  /** The order that a technician fixed, gone through by the same rules. */
  own?: { steps: PlanStep[]; total_minutes: number; extra_minutes?: number | null; breaches: { rule: string; step?: number | null; words: string }[]; reason?: string | null } | null;
  defaulted: string[];
  cautions: { slug: string; words: string }[];
  notes: string[];
};

/** One step of an order fixed by hand. */
export type FixedStep = { kind: PlanStep["kind"]; operation_id?: string; method_id?: string; joint?: string };
