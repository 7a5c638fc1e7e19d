import { effect } from "@preact/signals";
import * as calls from "./api/calls";
import { lineDown } from "./api/line";
import { KeptEntries, outcomeOf, type Kept, type Outcome } from "./kept-entries";
import { clockWords } from "./shop/dates";
import { personHere, shopHere, signedIn } from "./store";
import { words } from "./words";
import type { NewFinding, Operation, WorkOrder } from "./api/shapes";

/** A server in trouble is asked again after so long; a line that comes back is noticed at once. */
const AGAIN_MS = 30_000;

async function send(entry: Kept): Promise<Outcome> {
  switch (entry.kind) {
    case "note":
      return outcomeOf(await calls.orders.note(entry.order, entry.text, entry.once));
    case "finding":
      return outcomeOf(await calls.findings.add(entry.order, entry.finding, entry.once));
    case "clock": {
      const here = await calls.operations.get(entry.operation);
      if (here.kind !== "ok") return outcomeOf(here);
      // Started anew at another screen: that run is left alone. Where nothing runs, a repeat does no harm.
      if (here.value.running != null && here.value.running.since !== entry.since) return { refused: words.line.clockMoved };
      return outcomeOf(await calls.operations.time(entry.operation, entry.action, entry.once));
    }
  }
}

/** One window of the browser sends at a time. Without the lock (an address without TLS) the server's keys keep order. */
async function alone(what: () => Promise<void>): Promise<void> {
  if ("locks" in navigator) await navigator.locks.request("kept-entries", what);
  else await what();
}

const entries = new KeptEntries(localStorage, send, words.line.tooOld, alone);

/** What is kept on this computer, by everybody. */
export const kept = entries.kept;
/** What the server would not take, with its words. */
export const notTaken = entries.notTaken;

export async function sendKept(): Promise<void> {
  const me = signedIn.value?.person.id;
  if (me !== undefined) await entries.send(me);
}

export function dropNotTaken(): void {
  entries.drop(personHere().id);
}

const mine = (once: string, order: string) => ({ person: personHere().id, at: Date.now(), order, once });

export function keepNote(order: string, text: string, once: string): void {
  entries.keep({ ...mine(once, order), kind: "note", text });
}

export function keepFinding(order: string, finding: NewFinding, once: string): void {
  entries.keep({ ...mine(once, order), kind: "finding", finding });
}

/**
 * Keeps that a running clock was stopped, or its step done. The server takes no instant: it counts
 * until the entry arrives. So a note with the true time goes along, and the minutes can be judged.
 */
export function keepClock(order: WorkOrder, operation: Operation, action: "stop" | "done", once: string): void {
  const since = operation.running?.since;
  if (since === undefined) return;
  const step = words.line.step(operation.number, operation.title);
  entries.keep({ ...mine(once, order.id), kind: "clock", operation: operation.id, action, since, step });
  keepNote(order.id, words.line.clockNote(step, clockWords(new Date(), shopHere().time_zone)), crypto.randomUUID());
}

/** Until when the clock of a step ran, where its stop is kept here and not yet sent. */
export function keptStop(operation: Operation): Date | undefined {
  const entry = kept.value.find((one) => one.kind === "clock" && one.operation === operation.id && one.since === operation.running?.since);
  return entry === undefined ? undefined : new Date(entry.at);
}

/** What an entry says, for whoever has to write it anew. */
export function keptWords(entry: Kept): string {
  switch (entry.kind) {
    case "note": return entry.text;
    case "finding": return words.common.list([words.findings[entry.finding.kind], entry.finding.part, ...(entry.finding.note ? [entry.finding.note] : [])]);
    case "clock": return entry.step;
  }
}

effect(() => {
  if (lineDown.value === undefined && signedIn.value !== undefined) void sendKept();
});
setInterval(() => {
  if (lineDown.value === undefined && kept.value.length > 0) void sendKept();
}, AGAIN_MS);
window.addEventListener("storage", () => entries.readAgain());
