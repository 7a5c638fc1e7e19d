import { expect, test } from "vitest";
import { costOf, readVisit, type CounterTerms, type CounterVisit } from "./counter-visit";

const eur = (amount: string) => ({ amount, currency: "EUR" });
const TERMS: CounterTerms = { currency: "EUR", taxPercent: "19", pricesIncludeTax: true, paid: eur("0.00") };
const VISIT: CounterVisit = {
  steps: [{ key: "a", method_id: "m1", title: "Free a stuck mouthpiece", price: "12" }, { key: "b", title: "Water-key cork", price: "4,50" }],
  test: "finger_and_blow", noticed: "", rest: "pay", how: "cash", waiveReason: "", leaves: "collected", by: " Bea Thistle ", returned: ["case"], note: "",
};

test("a visit says what was done, the test that passed, and the handover with its payment", () => {
  expect(readVisit(VISIT, TERMS)).toEqual({ act: {
    operations: [{ title: "Free a stuck mouthpiece", method_id: "m1", price: eur("12.00") }, { title: "Water-key cork", price: eur("4.50") }],
    test: { kind: "leak_test", method: "finger_and_blow", verdict: "passed" },
    handover: { how: "collected", collected_by: "Bea Thistle", accessories_returned: ["case"], payment: { amount: eur("16.50"), how: "cash" } },
  } });
});
test("what was paid before is not paid again", () => {
  expect(readVisit(VISIT, { ...TERMS, paid: eur("10.00") })).toMatchObject({ act: { handover: { payment: { amount: eur("6.50") } } } });
  const all = readVisit(VISIT, { ...TERMS, paid: eur("20.00") });
  expect("act" in all && all.act.handover).not.toHaveProperty("payment");
});
test("nothing is paid for what costs nothing", () => {
  const free = readVisit({ ...VISIT, steps: [{ key: "a", title: "Oiled the valves", price: "0" }] }, TERMS);
  expect("act" in free && free.act.handover).not.toHaveProperty("payment");
});
test("on account and waived send no payment", () => {
  expect(readVisit({ ...VISIT, rest: "account" }, TERMS)).toMatchObject({ act: { handover: { charge_to_account: true } } });
  expect(readVisit({ ...VISIT, rest: "waive", waiveReason: "goodwill" }, TERMS)).toMatchObject({ act: { handover: { waive: { reason: "goodwill" } } } });
});
test("everything that is wrong is said", () => {
  const steps = [{ key: "a", title: "Cork", price: "some" }];
  expect(readVisit({ ...VISIT, steps, by: " ", rest: "waive" }, TERMS)).toEqual({ faults: [{ field: "price", key: "a" }, { field: "by" }, { field: "waiveReason" }] });
  expect(readVisit({ ...VISIT, steps: [] }, TERMS)).toEqual({ faults: [{ field: "steps" }] });
});
test("tax is added where prices do not hold it, rounded half away from zero", () => {
  // By hand: 16.50 × 0.19 = 3.135, so 3.14; 0.50 × 0.07 = 0.035, so 0.04.
  expect(costOf(VISIT.steps, { ...TERMS, pricesIncludeTax: false })?.total).toEqual(eur("19.64"));
  expect(costOf([{ key: "a", title: "Cork", price: "0.50" }], { ...TERMS, pricesIncludeTax: false, taxPercent: "7" })?.total).toEqual(eur("0.54"));
});
