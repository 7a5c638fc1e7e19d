import { expect, test } from "vitest";
import type { Answer } from "./api/answer";
import { DAY_MS, KeptEntries, outcomeOf, type Kept, type Outcome } from "./kept-entries";

/** A browser's storage, a line that can be cut, and a server that knows keys it has seen. */
function computer() {
  const places = new Map<string, string>();
  const store = { getItem: (place: string) => places.get(place) ?? null, setItem: (place: string, text: string) => void places.set(place, text) };
  const server = { up: true, arrived: [] as string[], effects: new Set<string>(), refuse: new Map<string, string>() };
  const clock = { now: Date.UTC(2026, 5, 11, 9) };
  const send = async (entry: Kept): Promise<Outcome> => {
    if (!server.up) return "later";
    server.arrived.push(entry.once);
    const why = server.refuse.get(entry.once);
    if (why !== undefined) return { refused: why };
    server.effects.add(entry.once);
    return "sent";
  };
  // What the browser's own lock does: one window at a time, in their order.
  let before = Promise.resolve();
  const alone = (what: () => Promise<void>): Promise<void> => {
    before = before.then(what);
    return before;
  };
  /** A window of the browser: opening it again is a reload. */
  const open = () => new KeptEntries(store, send, "too old", alone, () => clock.now);
  const note = (once: string, person = "mara"): Kept => ({ kind: "note", person, at: clock.now, order: "o1", once, text: `note ${once}` });
  const stop = (once: string): Kept => ({ kind: "clock", person: "mara", at: clock.now, order: "o1", once, operation: "s2", action: "stop", since: "2026-06-11T08:40:00Z", step: "step 2" });
  return { server, clock, open, note, stop, places };
}
const keys = (entries: KeptEntries) => entries.kept.value.map((one) => one.once);

test("is kept while the line is down, and sent once with its key, oldest first, when it is back", async () => {
  const { server, open, note, stop } = computer();
  const entries = open();
  server.up = false;
  for (const one of [note("a"), stop("b"), note("c")]) entries.keep(one);
  await entries.send("mara");
  expect([keys(entries), server.arrived]).toEqual([["a", "b", "c"], []]);
  server.up = true;
  await entries.send("mara");
  await entries.send("mara");
  expect(server.arrived).toEqual(["a", "b", "c"]);
  expect([keys(entries), entries.notTaken.value]).toEqual([[], []]);
});

test("an answer that was lost is asked for again with the same key", async () => {
  const { places, note } = computer();
  const store = { getItem: (place: string) => places.get(place) ?? null, setItem: (place: string, text: string) => void places.set(place, text) };
  const sent: string[] = [];
  const entries = new KeptEntries(store, async (entry) => {
    sent.push(entry.once);
    return sent.length === 1 ? "later" : "sent"; // It arrived the first time; only the answer was lost.
  }, "", (what) => what());
  entries.keep({ ...note("a"), at: Date.now() });
  await entries.send("mara");
  expect(keys(entries)).toEqual(["a"]);
  await entries.send("mara");
  expect([sent, keys(entries)]).toEqual([["a", "a"], []]);
});

test("stops at the first sign that the line is down again, and goes on from there", async () => {
  const { server, open, note } = computer();
  const entries = open();
  for (const one of [note("a"), note("b")]) entries.keep(one);
  const cutAfterFirst = entries.kept.subscribe((now) => {
    if (now.length === 1) server.up = false;
  });
  await entries.send("mara");
  cutAfterFirst();
  expect([server.arrived, keys(entries)]).toEqual([["a"], ["b"]]);
});

test("two sendings at one time send nothing twice", async () => {
  const { server, open, note } = computer();
  const entries = open();
  entries.keep(note("a"));
  await Promise.all([entries.send("mara"), entries.send("mara")]);
  expect(server.arrived).toEqual(["a"]);
});

test("what is kept while a sending ends follows it at once", async () => {
  const { server, open, note } = computer();
  const entries = open();
  const first = entries.send("mara");
  await Promise.resolve(); // It has found nothing, and is not over yet.
  entries.keep(note("a"));
  await Promise.all([first, entries.send("mara"), entries.send("mara")]);
  expect([server.arrived, keys(entries)]).toEqual([["a"], []]);
});

test("two windows send nothing twice: the second waits and finds what is left", async () => {
  const { server, open, note } = computer();
  const [one, other] = [open(), open()];
  one.keep(note("a"));
  other.keep(note("b"));
  await Promise.all([one.send("mara"), other.send("mara")]);
  expect([server.arrived, keys(open())]).toEqual([["a", "b"], []]);
});

test("survives a reload for a day; what is older is shown and not sent, because its key may be forgotten", async () => {
  const { server, clock, open, note } = computer();
  open().keep(note("a"));
  clock.now += DAY_MS - 1;
  open().keep(note("b"));
  expect(keys(open())).toEqual(["a", "b"]);
  clock.now += 1;
  const entries = open();
  await entries.send("mara");
  expect(server.arrived).toEqual(["b"]);
  expect(entries.notTaken.value).toMatchObject([{ entry: { once: "a", text: "note a" }, why: "too old" }]);
});

test("what was refused is shown with its words, holds nothing up, and is not lost by a reload", async () => {
  const { server, open, note } = computer();
  const entries = open();
  for (const one of [note("a"), note("b")]) entries.keep(one);
  server.refuse.set("a", "The order is closed.");
  await entries.send("mara");
  expect([...server.effects]).toEqual(["b"]);
  const again = open();
  expect(again.notTaken.value).toMatchObject([{ entry: { once: "a", text: "note a" }, why: "The order is closed." }]);
  await again.send("mara");
  expect(server.arrived).toEqual(["a", "b"]);
  again.drop("mara");
  expect(open().notTaken.value).toEqual([]);
});

test("only one's own entries are sent and dropped", async () => {
  const { server, open, note } = computer();
  const entries = open();
  for (const one of [note("a", "mara"), note("b", "ines")]) entries.keep(one);
  server.refuse.set("b", "no");
  await entries.send("ines");
  expect([server.arrived, keys(entries)]).toEqual([["b"], ["a"]]);
  entries.drop("mara");
  expect(entries.notTaken.value).toHaveLength(1);
});

test("two windows of one browser do not overwrite each other’s entries", () => {
  const { open, note } = computer();
  const [one, other] = [open(), open()];
  one.keep(note("a"));
  other.keep(note("b"));
  one.readAgain();
  expect([keys(one), keys(other), keys(open())]).toEqual([["a", "b"], ["a", "b"], ["a", "b"]]);
});

test("what another program left in the storage is taken for nothing", () => {
  const { open, places, note } = computer();
  for (const text of ["{", "null", "[]", '{"kept":7,"notTaken":[1]}', '{"kept":[{"kind":"note"}],"notTaken":[]}']) {
    places.set("kept-entries", text);
    const entries = open();
    expect([keys(entries), entries.notTaken.value]).toEqual([[], []]);
    entries.keep(note("a"));
    expect(keys(open())).toEqual(["a"]);
  }
});

test("signed out, too many requests, a twin under way and a server in trouble say nothing about an entry", () => {
  const problem = (status: number): Answer<unknown> => ({ kind: "problem", problem: { type: "slug", title: "Title", status, detail: "Do this." } });
  expect([401, 429, 500, 507].map((status) => outcomeOf(problem(status)))).toEqual(["later", "later", "later", "later"]);
  expect(outcomeOf({ kind: "away" })).toBe("later");
  expect(outcomeOf({ kind: "problem", problem: { type: "twin-running", title: "The same request is still running; try again in a moment.", status: 409 } })).toBe("later");
  expect(outcomeOf({ kind: "ok", value: {}, version: "" })).toBe("sent");
  expect([403, 404, 409, 422].map((status) => outcomeOf(problem(status)))).toEqual(Array(4).fill({ refused: "Do this." }));
  expect(outcomeOf({ kind: "stale", current: { type: "stale", title: "Changed", status: 412, current_version: 2 } })).toEqual({ refused: "Changed" });
});
