import { expect, test } from "vitest";
import type { BoardOrder } from "../api/shapes";
import { mayHoldClock } from "./running-clock";

const order = (id: string, stage: BoardOrder["stage"], by?: string): BoardOrder => ({
  id, stage, claim_number: id, version: 1, stage_since: "2026-06-10T08:00:00Z", promised_on: "2026-06-16", working_days_left: 4, waits_for: "shop",
  waiting_words: "", since: "2026-06-10T08:00:00Z", held: false, customer_name: "Ada Lund", instrument_words: "baritone", family: "baritone",
  ...(by === undefined ? {} : { claimed_by: { id: by, name: by, initials: "A" } }),
});

test("a clock is looked for where its owner works: claimed orders on the bench first, this one not", () => {
  const orders = [order("shelf", "pickup", "me"), order("asked", "approval"), order("theirs", "bench", "other"), order("here", "bench", "me"), order("mine", "bench", "me"), order("waits", "approval", "me")];
  expect(mayHoldClock(orders, "me", "here").map((one) => one.id)).toEqual(["mine", "theirs", "waits", "asked"]);
});
