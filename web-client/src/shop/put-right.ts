import type { Money, WorkOrder, WorkOrderEdit } from "../api/shapes";

/** What was written at the counter, as it stands in the fields of a form. */
export type CounterWords = {
  complaint: string;
  condition_note: string;
  keep_as_is: string;
  /** One on each line. */
  accessories: string;
  loaner_number: string;
  old_parts_back: boolean;
  examination_fee: string;
};

export function wordsOf(order: WorkOrder): CounterWords {
  return {
    complaint: order.complaint,
    condition_note: order.condition_note ?? "",
    keep_as_is: order.keep_as_is ?? "",
    accessories: order.accessories.map((one) => one.name).join("\n"),
    loaner_number: order.loaner_number ?? "",
    old_parts_back: order.old_parts_back,
    examination_fee: order.examination_fee?.amount ?? "",
  };
}

/** The things of a list that is typed with one on each line. */
export function namesIn(typed: string): string[] {
  return typed.split("\n").map((one) => one.trim()).filter((one) => one !== "");
}

/** Only what was typed differently is sent, so that nothing else is overwritten. `fee`: null where none is charged. */
export function wordsChanged(order: WorkOrder, typed: CounterWords, fee: Money | null): WorkOrderEdit {
  const was = wordsOf(order);
  const change: WorkOrderEdit = {};
  for (const name of ["complaint", "condition_note", "keep_as_is", "loaner_number"] as const) {
    if (typed[name].trim() !== was[name]) change[name] = typed[name].trim();
  }
  const names = namesIn(typed.accessories);
  if (names.join("\n") !== was.accessories) change.accessories = names;
  if (typed.old_parts_back !== was.old_parts_back) change.old_parts_back = typed.old_parts_back;
  if (fee?.amount !== order.examination_fee?.amount) change.examination_fee = fee;
  return change;
}
