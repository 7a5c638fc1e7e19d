import { describe, expect, test } from "vitest";
import { againAt, versionOf } from "./answer";
import { Door } from "./ask";
import type { Session } from "./shapes";

type Sent = { path: string; method: string; headers: Headers; body: unknown };

/** A server made of one function, and a door to it that knows `token-0`. */
function doorTo(answer: (sent: Sent) => Response | Promise<Response>) {
  const sent: Sent[] = [];
  const sessions: (Session | undefined)[] = [];
  const line: boolean[] = [];
  const door = new Door(
    async (path, init) => {
      const one = { path, method: init.method ?? "GET", headers: new Headers(init.headers), body: init.body };
      sent.push(one);
      return answer(one);
    },
    (session) => sessions.push(session),
    (up) => line.push(up),
  );
  return { door, sent, sessions, line };
}
const json = (status: number, body: unknown, headers: Record<string, string> = {}) =>
  new Response(body === undefined ? null : JSON.stringify(body), { status, headers: { "Content-Type": "application/json", ...headers } });
const problem = (status: number, more: object = {}) => json(status, { type: "slug", title: "Words", status, ...more });
let tokens = 0;
const session = () => {
  tokens += 1;
  return { access_token: `token-${tokens}`, expires_at: "2026-06-11T08:00:00Z", person: { id: "p1" }, shop: { name: "Millrace" } };
};

describe("every outcome becomes an answer", () => {
  test("ok, with the version of the entity tag", async () => {
    const { door, line } = doorTo(() => json(200, { a: 1 }, { ETag: '"7"' }));
    expect(await door.ask({ path: "/shop" })).toEqual({ kind: "ok", value: { a: 1 }, version: "7" });
    expect(line).toEqual([true]);
  });
  test("ok without a body", async () => {
    const { door } = doorTo(() => json(204, undefined));
    expect(await door.ask({ method: "DELETE", path: "/links/1" })).toEqual({ kind: "ok", value: undefined, version: "" });
  });
  test("stale, with who changed what", async () => {
    const { door } = doorTo(() => problem(412, { current_version: 8, changed_by: "Ines Calder", differences: [{ field: "size_mm", yours: 22, theirs: 24 }] }));
    expect(await door.ask({ method: "PATCH", path: "/findings/1", body: {}, seen: 7 })).toMatchObject({ kind: "stale", current: { current_version: 8, changed_by: "Ines Calder" } });
  });
  test.each([403, 404, 409, 413, 415, 422, 428, 429, 500])("%i is a problem with its words", async (status) => {
    const { door } = doorTo(() => problem(status, { detail: "Do this." }));
    expect(await door.ask({ path: "/shop" })).toEqual({ kind: "problem", problem: { type: "slug", title: "Words", status, detail: "Do this." } });
  });
  test("an error that is no JSON is a problem all the same", async () => {
    const { door } = doorTo(() => new Response("<h1>Oh</h1>", { status: 500 }));
    expect(await door.ask({ path: "/shop" })).toEqual({ kind: "problem", problem: { type: "about:blank", title: "", status: 500 } });
  });
  test("a cut line is away", async () => {
    const { door, line } = doorTo(() => Promise.reject(new TypeError("cut")));
    expect(await door.ask({ path: "/shop" })).toEqual({ kind: "away" });
    expect(line).toEqual([false]);
  });
  test("records out of reach are away, with when to try again", async () => {
    const { door } = doorTo(() => problem(503).clone());
    expect(await door.ask({ path: "/shop" })).toEqual({ kind: "away" });
    const later = doorTo(() => json(503, {}, { "Retry-After": "20" }));
    const answer = await later.door.ask({ path: "/shop" });
    expect(answer.kind === "away" && answer.again_at !== undefined && answer.again_at.getTime() - Date.now()).toBeGreaterThan(15_000);
  });
  test("a call given up by the screen says nothing about the line", async () => {
    const ending = new AbortController();
    const { door, line } = doorTo(() => Promise.reject(new DOMException("", "AbortError")));
    ending.abort();
    expect(await door.ask({ path: "/shop", signal: ending.signal })).toEqual({ kind: "away" });
    expect(line).toEqual([]);
  });
});

describe("what a call carries", () => {
  test("the version seen, the key, the body and the token", async () => {
    const { door, sent } = doorTo(({ path }) => (path.endsWith("/sessions") ? json(200, session()) : json(201, {})));
    await door.signIn("mara@millrace.example", "secret");
    await door.ask({ method: "POST", path: "/work-orders/1/stage-changes", body: { to: "bench" }, seen: 7, once: "key" });
    const call = sent[1];
    expect([call?.path, call?.method, call?.body]).toEqual(["/api/v1/work-orders/1/stage-changes", "POST", '{"to":"bench"}']);
    expect(Object.fromEntries(call?.headers ?? [])).toEqual({
      accept: "application/json", authorization: `Bearer token-${tokens}`, "content-type": "application/json", "idempotency-key": "key", "if-match": '"7"',
    });
  });
  test("nothing that was not asked for", async () => {
    const { door, sent } = doorTo(() => json(200, {}));
    await door.ask({ path: "/board" });
    expect(Object.fromEntries(sent[0]?.headers ?? [])).toEqual({ accept: "application/json" });
  });
});

describe("when the token runs out", () => {
  /** A server that takes only the newest token; a renewal waits until it is let go. */
  function strictServer() {
    let good = "";
    let open: () => void = () => {};
    const gate = new Promise<void>((done) => (open = done));
    const server = doorTo(async ({ path, headers }) => {
      if (path.endsWith("/sessions") || path.endsWith("/refresh")) {
        if (path.endsWith("/refresh")) await gate;
        const next = session();
        good = next.access_token;
        return json(200, next);
      }
      return headers.get("authorization") === `Bearer ${good}` ? json(200, { path }) : problem(401);
    });
    return { ...server, open, expire: () => (good = "another") };
  }
  test("all waiting calls share one renewal and each is tried once more", async () => {
    const { door, sent, open, expire } = strictServer();
    await door.signIn("a", "b");
    expire();
    const calls = ["/board", "/shop", "/people"].map((path) => door.ask({ path }));
    await new Promise((done) => setTimeout(done));
    open();
    expect((await Promise.all(calls)).map((answer) => answer.kind)).toEqual(["ok", "ok", "ok"]);
    expect(sent.filter((one) => one.path.endsWith("/refresh"))).toHaveLength(1);
    expect(sent.filter((one) => one.path.endsWith("/board"))).toHaveLength(2);
  });
  test("a call that comes back late uses the token another call has fetched meanwhile", async () => {
    const { door, sent, open, expire } = strictServer();
    await door.signIn("a", "b");
    expire();
    open();
    await door.ask({ path: "/board" });
    await door.ask({ path: "/shop" });
    expect(sent.filter((one) => one.path.endsWith("/refresh"))).toHaveLength(1);
    expect(sent.filter((one) => one.path.endsWith("/shop"))).toHaveLength(1);
  });
  test("a repeat keeps its key, so that it has one effect", async () => {
    const { door, sent, open, expire } = strictServer();
    await door.signIn("a", "b");
    expire();
    open();
    await door.ask({ method: "POST", path: "/work-orders", body: {}, once: "key" });
    expect(sent.filter((one) => one.path.endsWith("/work-orders")).map((one) => one.headers.get("idempotency-key"))).toEqual(["key", "key"]);
  });
  test("a refused renewal signs out, once, and the call says 401", async () => {
    let isIn = true;
    const { door, sent, sessions } = doorTo(({ path }) => (path.endsWith("/sessions") ? json(200, session()) : isIn ? json(200, {}) : problem(401)));
    await door.signIn("a", "b");
    isIn = false;
    expect(await door.ask({ path: "/board" })).toMatchObject({ kind: "problem", problem: { status: 401 } });
    expect(sessions.map((one) => one !== undefined)).toEqual([true, false]);
    expect(sent.filter((one) => one.path.endsWith("/board"))).toHaveLength(1);
  });
  test("a renewal that meets a cut line keeps the person signed in", async () => {
    let refresh = false;
    const { door, sessions } = doorTo(({ path }) => {
      if (path.endsWith("/sessions")) return json(200, session());
      if (path.endsWith("/refresh")) refresh = true;
      return path.endsWith("/refresh") ? Promise.reject(new TypeError("cut")) : problem(401);
    });
    await door.signIn("a", "b");
    expect(await door.ask({ path: "/board" })).toEqual({ kind: "away" });
    expect(refresh).toBe(true);
    expect(sessions).toHaveLength(1);
  });
  test("a wrong password asks for no renewal", async () => {
    const { door, sent } = doorTo(() => problem(401));
    expect(await door.signIn("a", "b")).toMatchObject({ kind: "problem", problem: { status: 401 } });
    expect(sent).toHaveLength(1);
  });
});

describe("the stream of events", () => {
  const never = new AbortController().signal;
  test("is asked for with the last id seen and with the token", async () => {
    const { door, sent } = doorTo(({ path }) => (path.endsWith("/sessions") ? json(200, session()) : new Response("")));
    await door.signIn("a", "b");
    await door.stream("/events", "41", never);
    await door.stream("/events", "", never);
    expect(sent.slice(1).map((one) => [one.headers.get("last-event-id"), one.headers.get("authorization")])).toEqual([["41", `Bearer token-${tokens}`], [null, `Bearer token-${tokens}`]]);
  });
  test("renews a token that ran out", async () => {
    let renewed = false;
    const { door } = doorTo(({ path }) => {
      if (path.endsWith("/refresh")) renewed = true;
      return path.endsWith("/events") ? (renewed ? new Response("") : problem(401)) : json(200, session());
    });
    expect((await door.stream("/events", "", never))?.status).toBe(200);
  });
  test("tells nobody signed in from a server that was not reached", async () => {
    const out = doorTo(() => problem(401));
    expect((await out.door.stream("/events", "", never))?.status).toBe(401);
    const busy = doorTo(({ path }) => problem(path.endsWith("/refresh") ? 429 : 401));
    expect(await busy.door.stream("/events", "", never)).toBeUndefined();
    const cut = doorTo(() => Promise.reject(new TypeError("cut")));
    expect(await cut.door.stream("/events", "", never)).toBeUndefined();
  });
});

test("entity tags and retry times are read in every spelling", () => {
  expect(['"7"', 'W/"7"', '"7-0c5f9"', '"0c5f9"', "7", "", null].map(versionOf)).toEqual(["7", "7", "7", "", "", "", ""]);
  const now = new Date("2026-06-11T08:00:00Z");
  expect(againAt("30", now)?.toISOString()).toBe("2026-06-11T08:00:30.000Z");
  expect(againAt("Thu, 11 Jun 2026 08:05:00 GMT", now)?.toISOString()).toBe("2026-06-11T08:05:00.000Z");
  expect([againAt(null, now), againAt("", now), againAt("soon", now)]).toEqual([undefined, undefined, undefined]);
});
