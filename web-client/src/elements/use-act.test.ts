import { expect, test } from "vitest";
import type { Answer } from "../api/answer";
import { readAnew } from "../api/line";
import { makeAct } from "./use-act";

const ok: Answer<string> = { kind: "ok", value: "done", version: "" };
const keyReused: Answer<string> = { kind: "problem", problem: { type: "key-reused", title: "This Idempotency-Key was used with another request; take a new one.", status: 422 } };

/** Runs one act with these answers, one press each, and gives the keys it asked with. */
async function press(answers: Answer<string>[]) {
  const act = makeAct();
  const keys: string[] = [];
  for (const answer of answers) {
    await act.run(async (once) => {
      keys.push(once);
      return answer;
    });
  }
  return { act, keys };
}

test("a repeat after a cut line has the same key, and a new act another", async () => {
  const { act, keys } = await press([{ kind: "away" }, ok, ok]);
  expect([keys[0] === keys[1], keys[1] === keys[2], act.refusal]).toEqual([true, false, undefined]);
});

test("a key that stands for another body says that the first try was recorded, and shows how it stands", async () => {
  const before = readAnew.peek();
  // Ten were paid and the answer was lost; then the amount was changed and sent again.
  const { act, keys } = await press([{ kind: "away" }, keyReused]);
  expect(keys[0]).toBe(keys[1]);
  expect(readAnew.peek()).toBe(before + 1);
  expect(act.refusal).toMatchObject({ kind: "problem", problem: { title: "Your first try was recorded.", detail: expect.stringContaining("Look before you send this again") } });
  await act.run(async (once) => {
    keys.push(once);
    return ok;
  });
  expect([keys[2] === keys[1], act.refusal]).toEqual([false, undefined]);
});

test("a second press while the first is under way does nothing", async () => {
  const act = makeAct();
  let asked = 0;
  const ask = async () => {
    asked += 1;
    return ok;
  };
  const [first, second] = await Promise.all([act.run(ask), act.run(ask)]);
  expect([first, second, asked, act.busy]).toEqual([true, false, 1, false]);
});
