import type { Answer } from "../api/answer";
import type { Customer, OrderLine, Page, WorkOrder } from "../api/shapes";

/** What is printed at the counter. */
export type PaperName = "tag" | "label" | "receipt";

/** What comes out of the printer with each check-in; on some machines there is none. */
export const AFTER_CHECK_IN = ["tag", "label", "none"] as const;
export type AfterCheckIn = (typeof AFTER_CHECK_IN)[number];

const PLACE = "paper-after-check-in";

/** What this machine prints with a check-in: the tag, until somebody chooses otherwise here. */
export function afterCheckIn(kept: Pick<Storage, "getItem"> = localStorage): AfterCheckIn {
  const found = kept.getItem(PLACE);
  return AFTER_CHECK_IN.find((one) => one === found) ?? "tag";
}

export function keepAfterCheckIn(choice: AfterCheckIn, kept: Pick<Storage, "setItem"> = localStorage): void {
  kept.setItem(PLACE, choice);
}

/**
 * What is printed right after a check-in. The receipt is on paper where no e-mail goes out, and
 * only once nothing more of the same customer follows.
 */
export function papersAtOnce(choice: AfterCheckIn, hasMail: boolean, moreFollow: boolean): PaperName[] {
  if (choice === "none") return [];
  return hasMail || moreFollow ? [choice] : [choice, "receipt"];
}

/** What is said of the receipt of an order that was just checked in. */
export type ReceiptSaid = "mail" | "printed" | "with_last" | "to_print" | "coming";

/**
 * Where the receipt is, as far as it is known: nothing is said to lie on paper before it was printed.
 * `atOnce`: what is printed with this check-in; `out`: whether the receipt came out, once that is known.
 */
export function receiptSaid(of: { hasMail: boolean; out: boolean | undefined; moreFollow: boolean; atOnce: readonly PaperName[] }): ReceiptSaid {
  if (of.hasMail) return "mail";
  if (of.out !== undefined) return of.out ? "printed" : "to_print";
  if (of.atOnce.includes("receipt")) return "coming";
  return of.moreFollow ? "with_last" : "to_print";
}

/** The most orders that stand on one receipt beside the one it is asked for. */
const MOST_BESIDE = 29;

/**
 * What the same customer left on the same day, by their ids. The list knows people by name only, and
 * two of one name are two customers: each order is looked at for whose it is.
 */
export async function leftTogether(order: Pick<WorkOrder, "id" | "checked_in_at"> & { customer: Pick<Customer, "id" | "name"> }, from: {
  list: () => Promise<Answer<Page<OrderLine>>>;
  get: (id: string) => Promise<Answer<Pick<WorkOrder, "id"> & { customer: Pick<Customer, "id"> }>>;
  dayOf: (instant: string) => string;
}): Promise<Answer<string[]>> {
  const found = await from.list();
  if (found.kind !== "ok") return found;
  const day = from.dayOf(order.checked_in_at);
  const alike = found.value.items.filter((one) => one.id !== order.id && one.customer_name === order.customer.name && from.dayOf(one.checked_in_at) === day);
  const looked = await Promise.all(alike.map((one) => from.get(one.id)));
  const ids: string[] = [];
  for (const one of looked) {
    if (one.kind !== "ok") return one;
    if (one.value.customer.id === order.customer.id) ids.push(one.value.id);
  }
  return { ...found, value: ids.slice(0, MOST_BESIDE) };
}
