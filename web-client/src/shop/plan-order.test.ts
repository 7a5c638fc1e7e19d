import { expect, test } from "vitest";
import type { Operation, PlanStep } from "../api/shapes";
import { fixedOf, hoursAndMinutes, moved, planRows } from "./plan-order";

const operation = (id: string, state: Operation["state"] = "planned") => ({ id, state }) as Operation;
const step = (more: Partial<PlanStep>) => ({ number: 1, kind: "operation", words: "", minutes: 10, changeover_minutes: 0, running_minutes: 10, protections: [], cautions: [], ...more }) as PlanStep;

test("what is done comes first, then the plan's order with steps nobody planned, then the rest", () => {
  const rows = planRows(
    [operation("a"), operation("b"), operation("c", "done"), operation("d", "struck"), operation("e")],
    [step({ kind: "take_apart" }), step({ operation_id: "b" }), step({ operation_id: "a" }), step({ kind: "put_together" }), step({ operation_id: "gone" })],
  );
  expect(rows.map((row) => row.operation?.id ?? row.step?.kind)).toEqual(["c", "take_apart", "b", "a", "put_together", "e"]);
});

test("without a plan the operations stand in their own order", () => {
  expect(planRows([operation("a"), operation("b", "done"), operation("c", "struck")], []).map((row) => row.operation?.id)).toEqual(["b", "a"]);
});

test("a fixed step names the operation with its method, or the joint it takes apart", () => {
  const joint = { id: "bell brace", name: "bell brace", joint_ids: [] };
  expect(fixedOf(step({ operation_id: "a", method_id: "m", joint: null }))).toEqual({ kind: "operation", operation_id: "a", method_id: "m" });
  expect(fixedOf(step({ kind: "take_apart", joint }))).toEqual({ kind: "take_apart", joint: "bell brace" });
});

test("a step moves by one place and not beyond the ends", () => {
  expect(moved([1, 2, 3], 1, -1)).toEqual([2, 1, 3]);
  expect(moved([1, 2, 3], 1, 1)).toEqual([1, 3, 2]);
  expect(moved([1, 2, 3], 0, -1)).toEqual([1, 2, 3]);
  expect(moved([1, 2, 3], 2, 1)).toEqual([1, 2, 3]);
});

test("minutes become hours and minutes", () => {
  expect(hoursAndMinutes(190)).toEqual({ hours: 3, minutes: 10 });
  expect(hoursAndMinutes(59.6)).toEqual({ hours: 1, minutes: 0 });
});
