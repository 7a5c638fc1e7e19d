import type { FixedStep, Operation, PlanStep } from "../api/shapes";

/** One row of the plan: an operation of the order, a step of the plan, or both in one. */
export type PlanRow = { operation: Operation; step?: PlanStep } | { operation?: undefined; step: PlanStep };

/**
 * The rows of the plan as they are done: what was begun or done, then the steps in the plan's
 * order, then what the plan does not speak of. Every operation that is not struck is in one row.
 */
export function planRows(operations: readonly Operation[], steps: readonly PlanStep[]): PlanRow[] {
  const live = operations.filter((one) => one.state !== "struck");
  const byId = new Map(live.map((one) => [one.id, one]));
  const inPlan = new Set(steps.map((step) => step.operation_id).filter((id) => id != null && byId.has(id)));
  const before = live.filter((one) => one.state === "done" && !inPlan.has(one.id));
  const after = live.filter((one) => one.state !== "done" && !inPlan.has(one.id));
  const planned = steps.flatMap((step): PlanRow[] => {
    if (step.operation_id == null) return [{ step }];
    const operation = byId.get(step.operation_id);
    return operation === undefined ? [] : [{ operation, step }];
  });
  return [...before.map((operation) => ({ operation })), ...planned, ...after.map((operation) => ({ operation }))];
}

/** A step as it is told to the server when a technician fixes the order. */
export function fixedOf(step: PlanStep): FixedStep {
  return {
    kind: step.kind,
    ...(step.operation_id == null ? {} : { operation_id: step.operation_id }),
    ...(step.method_id == null ? {} : { method_id: step.method_id }),
    ...(step.joint == null || step.kind === "operation" ? {} : { joint: step.joint.id }),
  };
}

/** The list with one thing moved up or down by a place; at the ends it stays as it is. */
export function moved<T>(list: readonly T[], at: number, by: 1 | -1): T[] {
  const to = at + by;
  const [one, other] = [list[at], list[to]];
  if (one === undefined || other === undefined || to < 0) return [...list];
  return list.map((item, i) => (i === at ? other : i === to ? one : item));
}

/** `3 h 10`, or `50`, for sums of minutes. */
export function hoursAndMinutes(minutes: number): { hours: number; minutes: number } {
  const whole = Math.round(minutes);
  return { hours: Math.floor(whole / 60), minutes: whole % 60 };
}
