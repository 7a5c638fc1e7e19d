import { effect, signal } from "@preact/signals";
import * as calls from "./api/calls";
import type { Answer } from "./api/answer";
import { lineDown } from "./api/line";
import type { NewFinding, NewPhoto, Problem } from "./api/shapes";
import { sendKept } from "./kept";
import { DAY_MS } from "./kept-entries";
import { photosNotSent, signedIn } from "./store";
import { words } from "./words";

/**
 * A photo on its way. Pictures are too large for what is kept on this computer, so they wait in the
 * page: they go when the line is back, and are lost when the page is closed. The screen says so.
 */
export type Posting = {
  /** Its idempotency key: a repeat after a cut line is the same photo. */
  once: string;
  person: string;
  order: string;
  file: File;
  beside: NewPhoto;
  /** The finding that it shows, where that is kept on this computer and has no name yet. */
  unsent?: Unsent;
  state: "waits" | "sending" | "away" | { refused: string };
};

/** A finding under the key with which it is kept: asked once more, the server names the same finding. */
export type Unsent = { finding: NewFinding; once: string; at: number };

/** The most the server takes. */
export const MOST_BYTES = 20 * 1024 * 1024;

const all = signal<readonly Posting[]>([]);
/** Rises with every photo that has arrived, and says of which order it is. */
export const arrived = signal<{ count: number; order: string }>({ count: 0, order: "" });
let isSending = false;

/** What of an order is still on its way, as this person began it. */
export function postingsOf(order: string): readonly Posting[] {
  const me = signedIn.value?.person.id;
  return all.value.filter((one) => one.order === order && one.person === me);
}

effect(() => {
  photosNotSent.value = all.value.filter((one) => one.state === "away" || typeof one.state === "object");
});

/** Sends photos, one after the other. Those of a finding that is still kept here wait for it, and are pinned and shared as it is. */
export function post(order: string, files: Iterable<File>, beside: NewPhoto = {}, unsent?: Unsent): void {
  const person = signedIn.value?.person.id;
  if (person === undefined) return;
  const added = [...files].map((file): Posting => ({
    once: crypto.randomUUID(),
    person,
    order,
    file,
    beside,
    ...(unsent === undefined ? {} : { unsent }),
    // A longer body is hung up on, which would look like a line that is down.
    state: file.size > MOST_BYTES ? { refused: words.photos.tooLarge } : "waits",
  }));
  all.value = [...all.value, ...added];
  void sendAll();
}

/** Tries again what did not go through. */
export function again(posting: Posting): void {
  set(posting.once, "waits");
  void sendAll();
}

/** Lets go of one that will not be sent. */
export function leave(posting: Posting): void {
  all.value = all.value.filter((one) => one.once !== posting.once);
}

function set(once: string, state: Posting["state"]): void {
  all.value = all.value.map((one) => (one.once === once ? { ...one, state } : one));
}

async function sendAll(): Promise<void> {
  if (isSending) return;
  isSending = true;
  try {
    for (;;) {
      const next = all.value.find((one) => one.state === "waits" && one.person === signedIn.peek()?.person.id);
      if (next === undefined) return;
      set(next.once, "sending");
      const beside = await besideOf(next);
      const answer = beside.kind === "ok" ? await calls.photos.add(next.order, next.file, beside.value, next.once) : beside;
      if (answer.kind === "ok") {
        leave(next);
        arrived.value = { count: arrived.value.count + 1, order: next.order };
      } else if (answer.kind === "away") {
        set(next.once, "away");
      } else {
        const why = said(answer.kind === "problem" ? answer.problem : answer.current);
        if (beside.kind !== "ok") unpin(next.once);
        set(next.once, { refused: beside.kind === "ok" ? why : `${why} ${words.photos.findingNotTaken}` });
      }
    }
  } finally {
    isSending = false;
  }
}

/** What goes along with a photo, once its finding has a name. */
async function besideOf({ order, beside, unsent }: Posting): Promise<Answer<NewPhoto>> {
  if (unsent === undefined) return { kind: "ok", value: beside, version: "" };
  // After a day the server may have forgotten the key: a repeat could be a second finding.
  if (Date.now() - unsent.at >= DAY_MS) return { kind: "problem", problem: { type: "about:blank", title: words.line.tooOld, status: 409 } };
  // What was kept goes first, so that the two do not meet at the server.
  await sendKept();
  const added = await calls.findings.add(order, unsent.finding, unsent.once);
  return added.kind === "ok" ? { ...added, value: { ...beside, finding_id: added.value.id, shared: added.value.shared } } : added;
}

/** Its finding was not taken: tried again, it is a photo of the order. */
function unpin(once: string): void {
  all.value = all.value.map(({ unsent, ...one }) => (one.once === once || unsent === undefined ? one : { ...one, unsent }));
}

function said(problem: Problem): string {
  const faults = (problem.errors ?? []).map((one) => one.message);
  return [problem.detail ?? problem.title, ...faults].join(" ");
}

// The line is back: what waited for it goes.
effect(() => {
  if (lineDown.value !== undefined) return;
  const waiting = all.peek().filter((one) => one.state === "away");
  if (waiting.length === 0) return;
  for (const one of waiting) set(one.once, "waits");
  void sendAll();
});

// Whoever closes the page is warned by the browser that something is lost.
window.addEventListener("beforeunload", (event) => {
  if (all.value.length > 0) event.preventDefault();
});
