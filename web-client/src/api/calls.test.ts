import { afterEach, expect, test, vi } from "vitest";
import * as calls from "./calls";

afterEach(() => vi.unstubAllGlobals());

test("a test is recorded on the order that was on the screen, once", async () => {
  const asked: { input: string; init: RequestInit }[] = [];
  vi.stubGlobal("fetch", async (input: string, init: RequestInit) => {
    asked.push({ input, init });
    return new Response("{}", { status: 201 });
  });
  await calls.tests.add("o1", { kind: "play_test", method: "played", verdict: "passed" }, "key-1", 7);
  expect(asked).toMatchObject([
    { input: "/api/v1/work-orders/o1/tests", init: { method: "POST", headers: { "If-Match": '"7"', "Idempotency-Key": "key-1" } } },
  ]);
});

test("a quote is saved also when its page is left meanwhile, as far as browsers allow", async () => {
  const kept: (boolean | undefined)[] = [];
  vi.stubGlobal("fetch", async (_: string, init: RequestInit) => {
    kept.push(init.keepalive);
    return new Response("{}");
  });
  await calls.quotes.write("q1", { lines: [], message: "a" }, 3);
  // The Fetch standard fails a longer one.
  await calls.quotes.write("q1", { lines: [], message: "ä".repeat(32 * 1024) }, 3);
  expect(kept).toEqual([true, undefined]);
});
