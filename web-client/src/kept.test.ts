import { afterAll, beforeEach, expect, test, vi } from "vitest";
import { session } from "./api/line";
import type { Session } from "./api/shapes";

const places = new Map<string, string>();
vi.useFakeTimers();
vi.stubGlobal("localStorage", { getItem: (place: string) => places.get(place) ?? null, setItem: (place: string, text: string) => void places.set(place, text) });
vi.stubGlobal("window", new EventTarget());
const locked: string[] = [];
vi.stubGlobal("navigator", { locks: { request: async (name: string, what: () => Promise<void>) => {
  locked.push(name);
  await what();
} } });
afterAll(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

const me = { access_token: "t", person: { id: "mara" }, shop: { time_zone: "Europe/Berlin" } } as unknown as Session;
let answers: (() => Response)[];
const arrived: { path: string; key: string | null; body: unknown }[] = [];
beforeEach(() => {
  arrived.length = 0;
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    const answer = answers.shift();
    if (answer === undefined) throw new TypeError("cut");
    arrived.push({ path, key: new Headers(init.headers).get("Idempotency-Key"), body: JSON.parse(String(init.body)) });
    return answer();
  });
  session.value = me;
});

test("a note that is kept and sent at once outlives a cut line, and is sent with its key when it is back", async () => {
  const { kept, keepNote, notTaken, sendKept } = await import("./kept");
  answers = [];
  keepNote("o1", "Promised all the same: the concert", "key-1");
  await sendKept();
  expect(kept.value).toMatchObject([{ kind: "note", order: "o1", text: "Promised all the same: the concert" }]);
  answers = [() => new Response("{}", { status: 201 })];
  await sendKept();
  expect(arrived).toEqual([{ path: "/api/v1/work-orders/o1/notes", key: "key-1", body: { text: "Promised all the same: the concert" } }]);
  expect([kept.value, notTaken.value]).toEqual([[], []]);
  // Other windows of this browser wait meanwhile.
  expect(new Set(locked)).toEqual(new Set(["kept-entries"]));
});

test("one that is refused is shown with its words", async () => {
  const { kept, keepNote, notTaken, sendKept } = await import("./kept");
  answers = [() => new Response(JSON.stringify({ type: "forbidden", title: "That is not yours to do.", status: 403 }), { status: 403 })];
  keepNote("o1", "Promised all the same: the concert", "key-2");
  await sendKept();
  expect(kept.value).toEqual([]);
  expect(notTaken.value).toMatchObject([{ entry: { once: "key-2", text: "Promised all the same: the concert" }, why: "That is not yours to do." }]);
});
