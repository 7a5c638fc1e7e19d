import { expect, test } from "vitest";
import type { Answer } from "../api/answer";
import type { OrderLine } from "../api/shapes";
import { AFTER_CHECK_IN, afterCheckIn, keepAfterCheckIn, leftTogether, papersAtOnce, receiptSaid } from "./papers";

function memory() {
  const kept = new Map<string, string>();
  return { getItem: (name: string) => kept.get(name) ?? null, setItem: (name: string, value: string) => void kept.set(name, value) };
}

test("a machine prints the tag until somebody chooses otherwise, and then that", () => {
  const kept = memory();
  expect(afterCheckIn(kept)).toBe("tag");
  for (const choice of AFTER_CHECK_IN) {
    keepAfterCheckIn(choice, kept);
    expect(afterCheckIn(kept)).toBe(choice);
  }
  kept.setItem("paper-after-check-in", "a poster");
  expect(afterCheckIn(kept)).toBe("tag");
});

test("who has no e-mail address gets the receipt on paper, once and at the end", () => {
  expect(papersAtOnce("tag", true, false)).toEqual(["tag"]);
  expect(papersAtOnce("label", false, true)).toEqual(["label"]);
  expect(papersAtOnce("label", false, false)).toEqual(["label", "receipt"]);
  expect(papersAtOnce("none", false, false)).toEqual([]);
});

test("the receipt is said to be on paper only once it was printed", () => {
  const said = (of: Partial<Parameters<typeof receiptSaid>[0]>) => receiptSaid({ hasMail: false, out: undefined, moreFollow: false, atOnce: [], ...of });
  expect(said({ hasMail: true })).toBe("mail");
  expect(said({ atOnce: ["tag", "receipt"] })).toBe("coming");
  expect(said({ atOnce: ["tag", "receipt"], out: true })).toBe("printed");
  expect(said({ atOnce: ["tag", "receipt"], out: false })).toBe("to_print");
  expect(said({ atOnce: ["tag"], moreFollow: true })).toBe("with_last");
  expect(said({})).toBe("to_print");
});

test("one receipt is for one customer, not for all of one name", async () => {
  const ok = <T,>(value: T): Answer<T> => ({ kind: "ok", value, version: "" });
  const line = (id: string, checked_in_at = "2026-06-11T09:00:00Z", customer_name = "Ana Costa"): OrderLine => ({ id, claim_number: id, version: 1, stage: "intake", customer_name, instrument_words: "Flute", promised_on: "2026-06-20", checked_in_at });
  const whose: Record<string, string> = { o1: "ana", o2: "ana", o3: "the other ana", o4: "ana", o5: "ana maria" };
  const from = {
    list: async () => ok({ items: [line("o1"), line("o2"), line("o3"), line("o4", "2026-06-12T09:00:00Z"), line("o5", "2026-06-11T09:00:00Z", "Ana Costa Maria")], next: null }),
    get: async (id: string) => ok({ id, customer: { id: whose[id] ?? "" } }),
    dayOf: (instant: string) => instant.slice(0, 10),
  };
  const order = { id: "o1", checked_in_at: "2026-06-11T10:00:00Z", customer: { id: "ana", name: "Ana Costa" } };
  expect(await leftTogether(order, from)).toMatchObject({ kind: "ok", value: ["o2"] });
  expect(await leftTogether(order, { ...from, get: async () => ({ kind: "away" }) })).toEqual({ kind: "away" });
  expect(await leftTogether(order, { ...from, list: async () => ({ kind: "away" }) })).toEqual({ kind: "away" });
});
