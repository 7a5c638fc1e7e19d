import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import type { Answer } from "../api/answer";
import type { NewQuote, Quote } from "../api/shapes";
import { KeptDrafts, saysSame, WEEK_MS } from "../kept-drafts";
import { QuoteSaver, REST_MS } from "./quote-saver";

beforeEach(() => void vi.useFakeTimers({ now: Date.UTC(2026, 5, 11, 9) }));
afterEach(() => void vi.useRealTimers());

const eur = (amount: string) => ({ amount, currency: "EUR" });
const quote: Quote = {
  id: "q1", number: 1, version: 3, order_version: 9, state: "draft", is_extra: false, limit: eur("22.00"), total_with_optional: eur("22.00"), expires_on: "2026-07-01",
  lines: [{ id: "l1", kind: "labour", text: "Replace a pad", quantity: "1", unit_price: "22.00", tax_class: "standard", optional: false, irreversible: false, is_new: false }],
};

/** A browser's storage and a server with one quote on it; `answer` can be held back. */
function shop() {
  const places = new Map<string, string>();
  const store = { getItem: (place: string) => places.get(place) ?? null, setItem: (place: string, text: string) => void places.set(place, text) };
  const server = { up: true, quote, told: [] as (string | null | undefined)[], hold: Promise.resolve() };
  const write = async (_: string, next: NewQuote, seen: number): Promise<Answer<Quote>> => {
    await server.hold;
    if (!server.up) return { kind: "away" };
    if (seen !== server.quote.version) return { kind: "stale", current: { type: "stale", title: "Changed", status: 412, current_version: server.quote.version } };
    server.told.push(next.message);
    server.quote = {
      ...server.quote, version: seen + 1, message: next.message ?? null,
      lines: next.lines.map((line, at) => ({ id: `l${seen}-${at}`, irreversible: false, is_new: false, ...line, optional: line.optional ?? false, quantity: line.quantity ?? "1", unit_price: line.unit_price ?? "0" } as Quote["lines"][number])),
    };
    return { kind: "ok", value: server.quote, version: String(server.quote.version) };
  };
  /** A page of the browser: opening it again is a reload. */
  const open = () => {
    const kept = new KeptDrafts(store);
    return { kept, saver: new QuoteSaver(server.quote, { person: "mara", currency: "EUR" }, write, kept) };
  };
  return { server, open, store };
}
const say = (saver: QuoteSaver, message: string) => saver.change({ ...saver.draft.peek(), message });

describe("a quote being written", () => {
  test("is saved when it has rested, once", async () => {
    const { server, open } = shop();
    const { saver, kept } = open();
    say(saver, "a");
    say(saver, "ab");
    await vi.advanceTimersByTimeAsync(REST_MS - 1);
    expect([server.told, kept.kept.value.length]).toEqual([[], 1]);
    await vi.advanceTimersByTimeAsync(1);
    expect([server.told, saver.state.value, kept.kept.value]).toEqual([["ab"], "saved", []]);
    await saver.save();
    expect(server.told).toEqual(["ab"]);
  });

  test("is saved at once when its screen is left before it has rested", async () => {
    const { server, open } = shop();
    const { saver, kept } = open();
    say(saver, "a");
    await saver.save();
    await vi.advanceTimersByTimeAsync(REST_MS);
    expect([server.told, kept.kept.value]).toEqual([["a"], []]);
  });

  test("what is typed while a save is under way is saved after it", async () => {
    const { server, open } = shop();
    const { saver } = open();
    let go = () => {};
    server.hold = new Promise((done) => void (go = done));
    say(saver, "a");
    const first = saver.save();
    say(saver, "ab");
    await saver.save();
    go();
    await first;
    expect([server.told, saver.state.value, saver.version]).toEqual([["a", "ab"], "saved", 5]);
  });

  test("with a fault it is not sent and stays on this computer over a reload, to be gone on with", async () => {
    const { server, open } = shop();
    const before = open();
    const [line] = before.saver.draft.peek().lines;
    before.saver.change({ ...before.saver.draft.peek(), message: "new pads", lines: line === undefined ? [] : [{ ...line, price: "2x" }] });
    await before.saver.save();
    expect([server.told, before.saver.faults.value]).toEqual([[], [{ line: 0, field: "price" }]]);
    const { saver, kept } = open();
    const [mine] = kept.kept.value;
    if (mine === undefined) throw new Error("nothing was kept");
    expect([mine.person, mine.quote, mine.by === saver.by, mine.draft.message]).toEqual(["mara", "q1", false, "new pads"]);
    saver.goOn(mine.by, mine.draft);
    const [price] = saver.draft.peek().lines;
    expect([price?.id, price?.price, kept.kept.value.map((one) => one.by)]).toEqual(["l1", "2x", [saver.by]]);
    saver.change({ ...saver.draft.peek(), lines: saver.draft.peek().lines.map((one) => ({ ...one, price: "25" })) });
    await saver.save();
    expect([server.quote.lines[0]?.unit_price, kept.kept.value]).toEqual(["25.00", []]);
  });

  test("a line that is gone from the quote comes back as a new one", async () => {
    const { server, open } = shop();
    const { saver } = open();
    say(saver, "a");
    server.quote = { ...quote, version: 4, lines: [] };
    const after = open();
    const [mine] = after.kept.kept.value;
    if (mine === undefined) throw new Error("nothing was kept");
    after.saver.goOn(mine.by, mine.draft);
    expect(after.saver.draft.peek().lines.map((line) => [line.id, line.text])).toEqual([[undefined, "Replace a pad"]]);
  });

  test("with the line down it stays kept, and is saved when it is tried again", async () => {
    const { server, open } = shop();
    const { saver, kept } = open();
    server.up = false;
    say(saver, "a");
    await saver.save();
    expect([saver.refusal.value?.kind, saver.state.value, kept.kept.value.length]).toEqual(["away", "typing", 1]);
    server.up = true;
    await saver.save();
    expect([saver.refusal.value, server.told, kept.kept.value]).toEqual([undefined, ["a"], []]);
  });

  test("theirs is shown when somebody else wrote, and mine is offered again", async () => {
    const { server, open } = shop();
    const { saver, kept } = open();
    say(saver, "mine");
    server.quote = { ...quote, version: 4, message: "theirs" };
    saver.adopt(server.quote);
    expect(saver.draft.value.message).toBe("mine");
    await saver.save();
    expect(saver.refusal.value?.kind).toBe("stale");
    saver.take(server.quote);
    expect([saver.draft.value.message, saver.state.value, kept.kept.value.map((one) => [one.draft.message, one.by === saver.by])]).toEqual(["theirs", "saved", [["mine", false]]]);
    saver.adopt({ ...quote, version: 5, message: "theirs again" });
    expect(saver.draft.value.message).toBe("theirs again");
  });

  test("sent or dropped it is saved no more", async () => {
    const { server, open } = shop();
    const { saver, kept } = open();
    say(saver, "a");
    saver.close();
    await saver.save();
    await vi.advanceTimersByTimeAsync(REST_MS);
    expect([server.told, kept.kept.value]).toEqual([[], []]);
  });
});

describe("drafts kept on this computer", () => {
  test("two windows keep their own, for a week", () => {
    const { open } = shop();
    const [one, other] = [open(), open()];
    say(one.saver, "one");
    say(other.saver, "other");
    one.kept.readAgain();
    expect(one.kept.kept.value.map((each) => each.draft.message)).toEqual(["one", "other"]);
    vi.setSystemTime(Date.now() + WEEK_MS);
    expect(open().kept.kept.value).toEqual([]);
  });

  test("a save whose answer was lost is known by what it says", async () => {
    const { server, open } = shop();
    const { saver } = open();
    const typed = { ...saver.draft.peek(), message: "a " };
    expect(saysSame(typed, server.quote, "EUR")).toBe(false);
    saver.change(typed);
    await saver.save();
    expect(saysSame(typed, server.quote, "EUR")).toBe(true);
  });

  test("what another program left is taken for nothing, and a full storage keeps nobody from writing", async () => {
    const { server, open, store } = shop();
    for (const text of ["{", "null", "7", '[{"person":"mara"}]', '[{"person":"mara","quote":"q1","by":"x","at":9e99,"draft":{"lines":[{}]}}]']) {
      store.setItem("kept-quote-drafts", text);
      expect(open().kept.kept.value).toEqual([]);
    }
    store.setItem = () => {
      throw new Error("full");
    };
    const { saver } = open();
    say(saver, "a");
    await saver.save();
    expect(server.told).toEqual(["a"]);
  });
});
