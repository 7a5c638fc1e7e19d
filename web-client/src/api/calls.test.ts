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

test("a list longer than a page is fetched to its end, and one that breaks off is not taken for whole", async () => {
  const asked: string[] = [];
  const pages = ['{"items":[1,2],"next":"b/1","standard":["s"]}', '{"items":[3],"next":null,"standard":["t"]}'];
  vi.stubGlobal("fetch", async (input: string) => {
    asked.push(input);
    const page = pages.shift();
    return page === undefined ? Promise.reject(new Error("cut")) : new Response(page);
  });
  expect(await calls.methods()).toMatchObject({ kind: "ok", value: { items: [1, 2, 3], next: null, standard: ["s"] } });
  expect(asked).toEqual(["/api/v1/methods?limit=200", "/api/v1/methods?limit=200&cursor=b%2F1"]);
  pages.push('{"items":[1],"next":"c"}');
  expect(await calls.people.list()).toEqual({ kind: "away" });
});
