import { expect, test } from "vitest";
import type { Move } from "../api/shapes";
import { waysOn } from "./ways";

const move = (because: Move["because"], more: Partial<Move> = {}): Move =>
  ({ to: "approval", because, words: because, may: true, why_not: null, act: null, needs_reason: false, ...more });
const not = (why_not: string) => ({ may: false, why_not });

test("on the bench only what is possible is offered: extra work, the mistake, and what is in the way of the leak test", () => {
  const ways = waysOn([
    move("extra_work", { act: "send_quote", ...not("It is within what is authorised.") }),
    move("acceptance_disputed", { act: "dispute" }),
    move("bench_done", not("Step 2 is not done.")),
    move("withdrawn", { act: "end", needs_reason: true }),
    move("otherwise_settled", { needs_reason: true }),
  ]);
  expect(ways.acts).toEqual(["mistake"]);
  expect(ways.moves).toEqual([]);
  expect(ways.rare.map((one) => one.because)).toEqual(["otherwise_settled"]);
  expect(ways.notYet.map((one) => one.because)).toEqual(["bench_done"]);
});

test("a quote that may go out is offered as extra work there", () => {
  expect(waysOn([move("acceptance_disputed", { act: "dispute" }), move("extra_work", { act: "send_quote" })]).acts).toEqual(["extra", "mistake"]);
});

test("three answers of the owner are one way", () => {
  const ways = waysOn([move("accepted", { act: "decide" }), move("extra_declined", { act: "decide", ...not("Nothing was accepted before.") }), move("questions", { act: "decide" }), move("declined", { act: "decide" })]);
  expect(ways.acts).toEqual(["answer"]);
  expect(ways.notYet).toEqual([]);
});

test("a quote is made ready before it may go out, and what it waits for is told", () => {
  const ways = waysOn([move("quote_sent", { act: "send_quote", ...not("Finding 2 has no decision yet.") }), move("nothing_to_do", { needs_reason: true })]);
  expect(ways.acts).toEqual(["quote"]);
  expect(ways.moves.map((one) => one.because)).toEqual(["nothing_to_do"]);
  expect(ways.notYet.map((one) => one.why_not)).toEqual(["Finding 2 has no decision yet."]);
});

test("a reason that leads two ways is told by the way that is open", () => {
  const ways = waysOn([move("recalled", { to: "bench", ...not("Nothing was accepted before.") }), move("recalled", { to: "diagnosis", needs_reason: true })]);
  expect(ways.moves).toHaveLength(1);
  expect(ways.notYet).toEqual([]);
});
