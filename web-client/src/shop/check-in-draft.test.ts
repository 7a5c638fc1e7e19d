import { describe, expect, test } from "vitest";
import type { Customer } from "../api/shapes";
import { countMarks, emptyDraft, holds, isPhone, isReachable, missingIn, nextOf, orderOf, toggleMark, withoutOwner, type CheckInDraft } from "./check-in-draft";

const lund: Customer = { id: "c1", version: 1, kind: "person", name: "Jonas Lund", language: "en", mail_wanted: "every_change", visits_count: 3 };
const TODAY = "2026-06-11";
function draft(more: Partial<CheckInDraft>): CheckInDraft {
  const empty = emptyDraft();
  return {
    ...empty, customer: lund, instrument: "new", newInstrument: { ...empty.newInstrument, family: "baritone", maker: " Halvane " },
    complaint: " Hard to blow. ", promisedOn: "2026-06-16", ...more,
  };
}
const what = (of: CheckInDraft) => missingIn(of, TODAY, "EUR").map((one) => `${one.step} ${one.what}`);

describe("a check-in", () => {
  test("needs who, what, what the customer says and a day", () => {
    expect(what(emptyDraft())).toEqual(["1 who", "2 what", "3 says", "8 date"]);
    expect(orderOf(emptyDraft(), TODAY, "EUR", "en")).toBeUndefined();
  });
  test("refuses an amount that is none, and a day that is over", () => {
    expect(what(draft({ mayCost: "lots", promisedOn: "2026-06-10" }))).toEqual(["7 amount", "8 past"]);
    expect(what(draft({ mayCost: "", promisedOn: TODAY }))).toEqual([]);
  });
  test("asks why, when fewer than 10 of 20 jobs like this would be ready by the day", () => {
    const asks = (ofTwenty: number | undefined, promiseReason = "") => missingIn(draft({ promiseReason }), TODAY, "EUR", ofTwenty).map((one) => one.what);
    expect(asks(9)).toEqual(["reason"]);
    expect(asks(9, " ")).toEqual(["reason"]);
    expect(asks(9, "The concert is on that day")).toEqual([]);
    expect(asks(10)).toEqual([]);
    expect(asks(undefined)).toEqual([]);
  });
  test("sends why only where it was asked, and takes it to the next instrument", () => {
    const hurried = draft({ promiseReason: " The concert is on that day " });
    const sent = (ofTwenty: number | undefined) => orderOf(hurried, TODAY, "EUR", "en", ofTwenty)?.promise_reason;
    expect(sent(9)).toBe("The concert is on that day");
    expect(sent(10)).toBeUndefined();
    expect(sent(undefined)).toBeUndefined();
    expect(nextOf(hurried, lund, lund).promiseReason).toBe(hurried.promiseReason);
  });
  test("sends what was given and leaves out what was not", () => {
    expect(orderOf(draft({ mayCost: "340", accessories: ["case"], marks: [{ part: "bell", kind: "dent" }, { part: "bell", kind: "scratch" }] }), TODAY, "EUR", "en")).toEqual({
      customer_id: "c1", instrument: { family: "baritone", maker: "Halvane" }, complaint: "Hard to blow.",
      counter_marks: [{ part: "bell", kind: "dent" }, { part: "bell", kind: "scratch" }], accessories: ["case"],
      may_cost: { amount: "340.00", currency: "EUR" }, examination_fee: null, promised_on: "2026-06-16",
    });
  });
  test("an empty amount asks first", () => {
    expect(orderOf(draft({}), TODAY, "EUR", "en")?.may_cost).toBeNull();
  });
  test("brings a new customer along", () => {
    const newCustomer = { kind: "school" as const, name: "Hollin Bridge School", phone: "555 0148", email: "", mail_wanted: "only_when_asked" as const };
    const order = orderOf(draft({ customer: "new", newCustomer }), TODAY, "EUR", "en");
    expect(order?.customer).toEqual({ kind: "school", name: "Hollin Bridge School", phone: "555 0148", mail_wanted: "only_when_asked", language: "en" });
    expect(order?.customer_id).toBeUndefined();
    expect(what(draft({ customer: "new" }))).toEqual(["1 who"]);
  });
  test("names the owner where that is somebody else, known or new, and nobody while it is the same", () => {
    const thistle: Customer = { ...lund, id: "c2", name: "Bea Thistle" };
    expect(orderOf(draft({ owner: thistle }), TODAY, "EUR", "en")).not.toHaveProperty("owner_id");
    expect(orderOf(draft({ ownerApart: true, owner: thistle }), TODAY, "EUR", "en")).toMatchObject({ customer_id: "c1", owner_id: "c2" });
    const newOwner = { ...emptyDraft().newOwner, name: " Estate of A. Thistle ", email: "estate@post.example" };
    const order = orderOf(draft({ ownerApart: true, owner: "new", newOwner }), TODAY, "EUR", "en");
    expect(order?.owner).toEqual({ kind: "person", name: "Estate of A. Thistle", email: "estate@post.example", mail_wanted: "every_change", language: "en" });
    expect(order).toMatchObject({ customer_id: "c1" });
    expect(order?.owner_id).toBeUndefined();
  });
  test("needs the owner named once somebody else is said to own it", () => {
    expect(what(draft({ ownerApart: true }))).toEqual(["1 owner"]);
    expect(what(draft({ ownerApart: true, owner: "new" }))).toEqual(["1 owner"]);
    expect(what({ ...draft({ ownerApart: true }), ...withoutOwner() })).toEqual([]);
  });
  test("the next instrument keeps an owner who is somebody else", () => {
    const thistle: Customer = { ...lund, id: "c2", name: "Bea Thistle" };
    expect(nextOf(draft({ ownerApart: true, owner: "new" }), lund, thistle)).toMatchObject({ ownerApart: true, ownerTyped: "Bea Thistle", owner: thistle, customer: lund });
  });
  test("the next instrument keeps the customer and the day, and nothing of the instrument", () => {
    const next = nextOf(draft({ marks: [{ part: "bell", kind: "dent" }], mayCost: "340" }), lund, lund);
    expect(next).toEqual({ ...emptyDraft(), typed: "Jonas Lund", customer: lund, promisedOn: "2026-06-16", mayCost: "340" });
  });
});

test("the same letter takes a mark away again", () => {
  const one = toggleMark([], { part: "bell", kind: "dent" });
  const three = toggleMark(toggleMark(one, { part: "bell", kind: "crack" }), { part: "valves", kind: "stuck" });
  expect([countMarks(three), countMarks(three, "dent")]).toEqual([3, 1]);
  expect(toggleMark(toggleMark(three, { part: "bell", kind: "dent" }), { part: "bell", kind: "crack" })).toEqual([{ part: "valves", kind: "stuck" }]);
});

test("two dents stand on one part in two places, and each is taken away by itself", () => {
  const near = { part: "bell", kind: "dent", position_mm: 40 } as const;
  const far = { part: "bell", kind: "dent", position_mm: 310 } as const;
  const two = toggleMark(toggleMark([], near), far);
  expect(two).toEqual([near, far]);
  expect(toggleMark(two, near)).toEqual([far]);
  expect(orderOf(draft({ marks: two }), "2026-06-10", "EUR", "en")?.counter_marks).toEqual([
    { part: "bell", kind: "dent", position_mm: "40" },
    { part: "bell", kind: "dent", position_mm: "310" },
  ]);
});

test("somebody who is only called alike is not taken for the one who was typed", () => {
  const novotna = { name: "Petra Novotná", phone: "555 0151", email: "petra@post.example" };
  expect(["novotna", "PETRA n", "0151", "550-151", "petra@"].map((typed) => holds(novotna, typed))).toEqual([true, true, true, true, true]);
  expect(["Petra Novak", "0152", "15", "peter@"].map((typed) => holds(novotna, typed))).toEqual([false, false, false, false]);
});

test.each(["", "+49 (0)721 555-0151", "555.0151", "0721/5550151", "555 0151 ext. 12"])("%s can be a telephone number", (typed) => expect(isPhone(typed)).toBe(true));
test.each(["call me", "555-O151", "see note 2", "—", "12", "555 0151 ext", "555 0151 at night", "#31#5550151"])("%s cannot", (typed) => expect(isPhone(typed)).toBe(false));
test("a number with letters keeps the check-in from being made, of the owner too", () => {
  const person = { ...emptyDraft().newCustomer, name: "Ada", phone: "555-O151" };
  const what = (of: Partial<CheckInDraft>) => missingIn(draft(of), "2026-06-10", "EUR").map((one) => one.what);
  expect(what({ customer: "new", newCustomer: person })).toEqual(["phone"]);
  expect(what({ ownerApart: true, owner: "new", newOwner: person })).toEqual(["ownerPhone"]);
});
test("somebody is reachable by either way", () => {
  expect([isReachable({ phone: " ", email: null }), isReachable({ phone: "555 0151" }), isReachable({ email: "ada@post.example" })]).toEqual([false, true, true]);
});
