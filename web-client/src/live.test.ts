import { afterEach, expect, test, vi } from "vitest";
import { listen } from "./live";
import type { Change } from "./api/shapes";

afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

const event = (id: number, name: string, data: object) => `id: ${id}\nevent: ${name}\ndata: ${JSON.stringify(data)}\n\n`;
const claimed = { kind: "claimed", claim_number: "1843-8", words: "claimed by Mara Voss", at: "2026-06-11T08:00:00Z" };

test("the screen is read anew each time the stream opens, and when too much was missed", async () => {
  vi.useFakeTimers();
  const streams: { from: string | null; say: (text: string) => void; cut: () => void }[] = [];
  const target = new EventTarget();
  vi.stubGlobal("window", target);
  vi.stubGlobal("fetch", async (_: string, init: RequestInit) => {
    let to: ReadableStreamDefaultController<Uint8Array> | undefined;
    const body = new ReadableStream<Uint8Array>({ start: (controller) => void (to = controller) });
    streams.push({ from: new Headers(init.headers).get("Last-Event-ID"), say: (text) => to?.enqueue(new TextEncoder().encode(text)), cut: () => to?.close() });
    return new Response(body);
  });
  const [changes, anew, ending] = [[] as Change[], vi.fn(), new AbortController()];
  void listen((change) => void changes.push(change), anew, ending.signal);
  await vi.advanceTimersByTimeAsync(0);
  expect(anew).toHaveBeenCalledTimes(1);
  streams[0]?.say(event(7, "change", claimed));
  await vi.advanceTimersByTimeAsync(0);
  expect([changes, anew.mock.calls.length]).toEqual([[claimed], 1]);
  streams[0]?.say(event(2900, "anew", { kind: "anew", words: "too much has changed; read everything anew" }));
  await vi.advanceTimersByTimeAsync(0);
  expect([changes.length, anew.mock.calls.length]).toEqual([1, 2]);
  streams[0]?.cut();
  await vi.advanceTimersByTimeAsync(1000);
  expect([streams[1]?.from, anew.mock.calls.length]).toEqual(["2900", 3]);
  ending.abort();
});
