import { describe, expect, test } from "vitest";
import type { Operation, Quote } from "../api/shapes";
import { draftOfQuote, emptyLine, lineOfMethod, lineOfOperation, newerDraft, readDecimal, readDraft, stepsWithoutLine, type Draft } from "./quote-draft";

const eur = (amount: string) => ({ amount, currency: "EUR" });
function step(id: string, more: Partial<Operation> = {}): Operation {
  return {
    id, number: 1, version: 1, title: `Step ${id}`, kind: "work", heat: "none", irreversible: false, finding_ids: [], after: [], minutes: { low: 1, typical: 2, high: 3 }, price: eur("22.00"),
    state: "planned", may_start: true, actual_minutes: 0, rework_count: 0, waits_for_answer: false, to_check: false, accepted: false, order_version: 1, tax_class: "standard", needs_apart: [], chosen_ways: [], quoted_otherwise: false, left_out: false, ...more,
  };
}
function draft(lines: Draft["lines"], more: Partial<Draft> = {}): Draft {
  return { lines, message: "", off: "", off_in: "percent", limit: "", expires_on: "", ...more };
}

describe("a quote being written", () => {
  test("takes its lines from the steps that have none", () => {
    const steps = [step("a"), step("b", { state: "struck" }), step("c")];
    const lines = [lineOfOperation(step("a"), "standard")];
    expect(stepsWithoutLine(steps, lines).map((one) => one.id)).toEqual(["c"]);
  });
  test("a method brings its price", () => {
    const method = { name: "Remove dents", irreversible: false, price: eur("30.00") };
    expect(lineOfMethod(method, "standard")).toMatchObject({ text: "Remove dents", price: "30.00", quantity: "1", tax_class: "standard" });
  });
  test("a unit price may be finer than a cent", () => {
    const read = readDraft(draft([{ ...emptyLine("standard"), text: "Wire, 1 cm", price: "0.0125" }]), "EUR");
    expect("quote" in read && read.quote.lines[0]?.unit_price).toBe("0.0125");
  });
  test("says every fault at once, with its line", () => {
    const bad = { ...emptyLine("standard"), text: " ", quantity: "0", price: "x", off: "101" };
    expect(readDraft(draft([lineOfOperation(step("a"), "standard"), bad], { off: "-1", limit: "much" }), "EUR")).toEqual({
      faults: [
        { line: 1, field: "text" }, { line: 1, field: "price" }, { line: 1, field: "quantity" }, { line: 1, field: "off" },
        { field: "off" }, { field: "limit" },
      ],
    });
    expect(readDraft(draft([]), "EUR")).toEqual({ faults: [{ field: "lines" }] });
  });
  test("leaves out what is empty and keeps the decimal texts", () => {
    const line = { ...lineOfOperation(step("a"), "standard"), quantity: "1,5", off: "10 %".replace(" ", ""), optional: true };
    expect(readDraft(draft([line], { limit: "240", expires_on: "2026-07-01" }), "EUR")).toEqual({
      quote: {
        lines: [{ kind: "labour", text: "Step a", quantity: "1.5", unit_price: "22.00", tax_class: "standard", discount_percent: "10", optional: true, operation_id: "a" }],
        limit: eur("240.00"),
        expires_on: "2026-07-01",
      },
    });
  });
  test("a discount stays what it is, in percent or in money, and either can be changed", () => {
    const quote: Quote = {
      id: "q", number: 1, version: 3, order_version: 9, state: "draft", is_extra: false, limit: eur("100.00"), total_with_optional: eur("100.00"), expires_on: "2026-07-01",
      lines: [{ id: "l", kind: "labour", text: "Step a", quantity: "1", unit_price: "22.00", tax_class: "standard", optional: false, irreversible: false, is_new: false }],
    };
    for (const discount of [{ percent: "12.5" }, { amount: "20.00" }]) {
      expect(readDraft(draftOfQuote({ ...quote, discount }), "EUR")).toMatchObject({ quote: { discount } });
      const newer = readDraft(newerDraft({ ...quote, discount }, [step("b")], "standard"), "EUR");
      expect(newer).toMatchObject({ quote: { discount, lines: [{ id: "l", text: "Step a" }, { text: "Step b", operation_id: "b" }] } });
    }
    const inMoney = draftOfQuote({ ...quote, discount: { amount: "20.00" } });
    expect(readDraft({ ...inMoney, off: "25,5" }, "EUR")).toMatchObject({ quote: { discount: { amount: "25.50" } } });
    expect(readDraft({ ...inMoney, off_in: "percent" }, "EUR")).toMatchObject({ quote: { discount: { percent: "20.00" } } });
    expect(readDraft({ ...inMoney, off: "much" }, "EUR")).toEqual({ faults: [{ field: "off" }] });
    expect(readDraft({ ...inMoney, off: "120" }, "EUR")).toMatchObject({ quote: { discount: { amount: "120.00" } } });
    const without = readDraft({ ...inMoney, off: "" }, "EUR");
    expect("quote" in without && without.quote.discount).toBeUndefined();
  });
  test("quantities have three decimals at most", () => {
    expect(["1", "0,25", "1.125", "1.1255", "-1", "1e3", ""].map((typed) => readDecimal(typed, 3))).toEqual(["1", "0.25", "1.125", undefined, undefined, undefined, undefined]);
  });
});
