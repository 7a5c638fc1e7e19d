import type { LineKind, Method, NewQuote, Operation, Quote } from "../api/shapes";
import { readAmount } from "./money";

/** A quote line while it is being written: numbers are texts until they are read. */
export type DraftLine = {
  key: string;
  id?: string;
  kind: LineKind;
  text: string;
  quantity: string;
  price: string;
  tax_class: string;
  off: string;
  optional: boolean;
  irreversible: boolean;
  operation_id?: string;
};
/** `off` is what goes off the whole: a percentage, or money of the quote's currency. */
export type Draft = { lines: DraftLine[]; message: string; off: string; off_in: "percent" | "money"; limit: string; expires_on: string };

/** What is wrong with a draft: the number of the line from 0, or `undefined` for the quote as a whole. */
export type DraftFault = { line?: number; field: "text" | "quantity" | "price" | "off" | "limit" | "lines" };

let keys = 0;
function newKey(): string {
  keys += 1;
  return `line-${keys}`;
}

/** A draft written before, on the quote as it is now: lines that are gone from it come back as new ones. */
export function draftOn(draft: Draft, quote: Quote): Draft {
  const known = new Set(quote.lines.map((line) => line.id));
  return {
    ...draft,
    lines: draft.lines.map(({ id, ...line }) => ({ ...line, key: newKey(), ...(id === undefined || !known.has(id) ? {} : { id }) })),
  };
}

/** What a newer version begins with: the lines and the discount of the one before, and these steps. */
export function newerDraft(before: Quote | undefined, steps: readonly Operation[], taxClass: string): Draft {
  const draft = before === undefined ? undefined : draftOfQuote(before);
  return {
    lines: [...(draft?.lines ?? []), ...steps.map((step) => lineOfOperation(step, taxClass))],
    message: "", off: draft?.off ?? "", off_in: draft?.off_in ?? "percent", limit: "", expires_on: "",
  };
}

export function draftOfQuote(quote: Quote): Draft {
  return {
    lines: quote.lines.map((line) => ({
      key: newKey(),
      id: line.id,
      kind: line.kind,
      text: line.text,
      quantity: line.quantity,
      price: line.unit_price,
      tax_class: line.tax_class,
      off: line.discount_percent ?? "",
      optional: line.optional,
      irreversible: line.irreversible,
      ...(line.operation_id == null ? {} : { operation_id: line.operation_id }),
    })),
    message: quote.message ?? "",
    ...offOf(quote.discount),
    // A limit equal to the total with all options is the one the server fills in by itself.
    limit: quote.limit.amount === quote.total_with_optional.amount ? "" : quote.limit.amount,
    expires_on: quote.expires_on,
  };
}

function offOf(discount: Quote["discount"]): Pick<Draft, "off" | "off_in"> {
  if (discount == null) return { off: "", off_in: "percent" };
  return "percent" in discount ? { off: discount.percent, off_in: "percent" } : { off: discount.amount, off_in: "money" };
}

/** The line a planned step puts on a quote. */
export function lineOfOperation(operation: Operation, taxClass: string): DraftLine {
  return {
    key: newKey(), kind: "labour", text: operation.title, quantity: "1", price: operation.price.amount, tax_class: taxClass, off: "",
    optional: false, irreversible: operation.irreversible, operation_id: operation.id,
  };
}

/** The line a method of the shop's price list puts on a quote. */
export function lineOfMethod(method: Pick<Method, "name" | "price" | "irreversible">, taxClass: string): DraftLine {
  return {
    key: newKey(), kind: "labour", text: method.name, quantity: "1", price: method.price.amount,
    tax_class: taxClass, off: "", optional: false, irreversible: method.irreversible,
  };
}

export function emptyLine(taxClass: string): DraftLine {
  return { key: newKey(), kind: "material", text: "", quantity: "1", price: "", tax_class: taxClass, off: "", optional: false, irreversible: false };
}

/** The steps that are to be paid for and stand on no line of the draft yet. */
export function stepsWithoutLine(operations: readonly Operation[], lines: readonly { operation_id?: string | null }[]): Operation[] {
  return operations.filter((step) => step.state !== "struck" && !lines.some((line) => line.operation_id === step.id));
}

/**
 * The quote a draft says, or everything that is wrong with it.
 * Quantities have up to three decimals, a comma counts as a decimal mark; percentages are 0 to 100.
 */
export function readDraft(draft: Draft, currency: string): { quote: NewQuote } | { faults: DraftFault[] } {
  const faults: DraftFault[] = [];
  const lines = draft.lines.map((line, at): NewQuote["lines"][number] => {
    // A unit price may be finer than the currency’s smallest coin.
    const amount = readAmount(line.price, currency) ?? readDecimal(line.price, 6);
    const quantity = readDecimal(line.quantity, 3);
    const off = line.off.trim() === "" ? "" : readPercent(line.off);
    if (line.text.trim() === "") faults.push({ line: at, field: "text" });
    if (amount === undefined) faults.push({ line: at, field: "price" });
    if (quantity === undefined || Number(quantity) === 0) faults.push({ line: at, field: "quantity" });
    if (off === undefined) faults.push({ line: at, field: "off" });
    return {
      ...(line.id === undefined ? {} : { id: line.id }),
      kind: line.kind,
      text: line.text.trim(),
      quantity: quantity ?? "1",
      unit_price: amount ?? "0",
      tax_class: line.tax_class,
      ...(off === undefined || off === "" ? {} : { discount_percent: off }),
      optional: line.optional,
      ...(line.operation_id === undefined ? {} : { operation_id: line.operation_id }),
    };
  });
  const off = draft.off.trim() === "" ? "" : draft.off_in === "percent" ? readPercent(draft.off) : readAmount(draft.off, currency);
  const limit = draft.limit.trim() === "" ? "" : readAmount(draft.limit, currency);
  if (off === undefined) faults.push({ field: "off" });
  if (limit === undefined) faults.push({ field: "limit" });
  if (lines.length === 0) faults.push({ field: "lines" });
  if (faults.length > 0) return { faults };
  return {
    quote: {
      ...(draft.message.trim() === "" ? {} : { message: draft.message.trim() }),
      lines,
      ...(off === undefined || off === "" ? {} : { discount: draft.off_in === "percent" ? { percent: off } : { amount: off } }),
      ...(limit === undefined || limit === "" ? {} : { limit: { amount: limit, currency } }),
      ...(draft.expires_on === "" ? {} : { expires_on: draft.expires_on }),
    },
  };
}

/** A decimal number as typed, as a decimal text; `undefined` when it is none or too fine. */
export function readDecimal(typed: string, decimals: number): string | undefined {
  const parts = /^(\d{1,9})(?:[.,](\d+))?$/.exec(typed.trim());
  if (parts === null || (parts[2] ?? "").length > decimals) return undefined;
  return parts[2] === undefined ? (parts[1] ?? "") : `${parts[1]}.${parts[2]}`;
}

function readPercent(typed: string): string | undefined {
  const percent = readDecimal(typed.replace(/%$/, ""), 3);
  return percent !== undefined && Number(percent) <= 100 ? percent : undefined;
}
