import type { DoneAtCounter, HandoverHow, Money, PaymentHow, TestMethod } from "../api/shapes";
import { readAmount, sumOf, withTax } from "./money";

/** A step done at the counter while it is being picked: its price is a text until it is read. */
export type CounterStep = { key: string; method_id?: string; title: string; price: string };

export type CounterVisit = {
  steps: readonly CounterStep[];
  test: TestMethod;
  noticed: string;
  rest: "pay" | "account" | "waive";
  how: PaymentHow;
  waiveReason: string;
  leaves: HandoverHow;
  by: string;
  returned: readonly string[];
  note: string;
};

export type CounterTerms = {
  currency: string;
  /** Of the shop's first tax class, which steps without one of their own belong to. */
  taxPercent: string;
  pricesIncludeTax: boolean;
  paid: Money;
};

/** The first thing that keeps a visit from being recorded; `price` names its step by `key`. */
export type CounterFault = { field: "steps" | "by" | "waiveReason" } | { field: "price"; key: string };

/**
 * What the steps cost together, tax included, and what of it is still to be paid (never below zero).
 * `undefined` while a price cannot be read. For the eye: the server reckons what is charged.
 */
export function costOf(steps: readonly CounterStep[], terms: CounterTerms): { total: Money; due: Money } | undefined {
  const { currency } = terms;
  const prices = steps.map((step) => readAmount(step.price, currency));
  if (prices.includes(undefined)) return undefined;
  const sum = sumOf(prices.flatMap((amount) => (amount === undefined ? [] : [{ amount, currency }])), currency);
  const total = terms.pricesIncludeTax ? sum : withTax(sum, terms.taxPercent);
  const left = sumOf([total, { ...terms.paid, amount: negative(terms.paid.amount) }], currency);
  return { total, due: left.amount.startsWith("-") ? sumOf([], currency) : left };
}

function negative(amount: string): string {
  return amount.startsWith("-") ? amount.slice(1) : `-${amount}`;
}

/** The act a filled form asks for, or everything that is wrong with it. */
export function readVisit(visit: CounterVisit, terms: CounterTerms): { act: DoneAtCounter } | { faults: CounterFault[] } {
  const { currency } = terms;
  const faults: CounterFault[] = visit.steps.filter((step) => readAmount(step.price, currency) === undefined).map(({ key }) => ({ field: "price", key }));
  if (visit.steps.length === 0) faults.push({ field: "steps" });
  if (visit.by.trim() === "") faults.push({ field: "by" });
  if (visit.rest === "waive" && visit.waiveReason.trim() === "") faults.push({ field: "waiveReason" });
  const cost = costOf(visit.steps, terms);
  if (faults.length > 0 || cost === undefined) return { faults };
  const [noticed, note] = [visit.noticed.trim(), visit.note.trim()];
  return {
    act: {
      operations: visit.steps.map((step) => ({
        title: step.title,
        price: { amount: readAmount(step.price, currency) ?? "0", currency },
        ...(step.method_id === undefined ? {} : { method_id: step.method_id }),
      })),
      test: { kind: "leak_test", method: visit.test, verdict: "passed", ...(noticed === "" ? {} : { note: noticed }) },
      handover: {
        how: visit.leaves,
        collected_by: visit.by.trim(),
        accessories_returned: [...visit.returned],
        ...(visit.rest === "pay" && Number(cost.due.amount) > 0 ? { payment: { amount: cost.due, how: visit.how } } : {}),
        ...(visit.rest === "account" ? { charge_to_account: true } : {}),
        ...(visit.rest === "waive" ? { waive: { reason: visit.waiveReason.trim() } } : {}),
        ...(note === "" ? {} : { note }),
      },
    },
  };
}
