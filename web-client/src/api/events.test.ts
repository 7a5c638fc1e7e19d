import { describe, expect, test } from "vitest";
import { changeOf, EventReader } from "./events";

// The rules are those of the HTML standard, section 9.2.6 "Interpreting an event stream".
const told = (pieces: string[]) => {
  const reader = new EventReader();
  return { events: pieces.flatMap((piece) => reader.take(piece)), lastId: reader.lastId };
};

describe("the event stream", () => {
  test("gives an event at the empty line after it", () => {
    expect(told(["id: 7\nevent: change\ndata: {}\n"]).events).toEqual([]);
    expect(told(["id: 7\nevent: change\ndata: {}\n\n"])).toEqual({ events: [{ id: "7", event: "change", data: "{}" }], lastId: "7" });
  });
  test("does not mind where the pieces are cut", () => {
    const text = "id: 7\r\nevent: change\r\ndata: {\"a\":1}\r\ndata: 2\r\n\r\n: beat\r\n\r\nid: 8\r\ndata: x\r\n\r\n";
    const whole = told([text]);
    expect(whole.events).toEqual([{ id: "7", event: "change", data: '{"a":1}\n2' }, { id: "8", event: "message", data: "x" }]);
    for (let at = 1; at < text.length; at += 1) expect(told([text.slice(0, at), text.slice(at)])).toEqual(whole);
    expect(told([...text])).toEqual(whole);
  });
  test("understands every line ending", () => {
    for (const end of ["\n", "\r", "\r\n"]) {
      expect(told([`data: a${end}${end}data: b${end}${end}`]).events.map((one) => one.data)).toEqual(["a", "b"]);
    }
  });
  test("passes over comments, unknown fields and events without data", () => {
    expect(told([": hello\n\nretry: 10\nfoo\nevent: change\n\ndata\n\n"]).events).toEqual([{ id: "", event: "message", data: "" }]);
  });
  test("an id counts even when its event had no data, and one with a null character does not", () => {
    expect(told(["id: 9\n\n"]).lastId).toBe("9");
    expect(told(["id: 9\n\nid: 1\0\n\n"]).lastId).toBe("9");
  });
  test("only one space after the colon belongs to the syntax", () => {
    expect(told(["data:  two\ndata:none\n\n"]).events[0]?.data).toBe(" two\nnone");
  });
  test("forgets what a cut connection left half said, but not where it was", () => {
    const reader = new EventReader();
    reader.take("id: 4\ndata: a\n\nid: 5\ndata: ha");
    reader.cut();
    expect(reader.lastId).toBe("5");
    expect(reader.take("lf\n\ndata: b\n\n").map((one) => one.data)).toEqual(["b"]);
  });
});

test("a change is read, anything else is passed over", () => {
  const change = { kind: "claimed", claim_number: "1843-8", words: "claimed by Mara Voss", at: "2026-06-11T08:00:00Z" };
  expect(changeOf({ id: "1", event: "change", data: JSON.stringify(change) })).toEqual(change);
  expect(changeOf({ id: "1", event: "other", data: JSON.stringify(change) })).toBeUndefined();
  expect(changeOf({ id: "1", event: "change", data: "{" })).toBeUndefined();
  expect(changeOf({ id: "1", event: "change", data: "7" })).toBeUndefined();
});
