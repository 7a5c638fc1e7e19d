import { effect, signal } from "@preact/signals";
import * as calls from "./api/calls";
import { lineDown } from "./api/line";
import type { NewFinding } from "./api/shapes";
import { signedIn } from "./store";

/**
 * Notes and findings written while the line is down. They are kept on this computer with their
 * idempotency key and sent when it is back, oldest first; they survive signing out for a day.
 * Moves, decisions and money are never kept: they have to be seen when they are made.
 */
export type Kept = { person: string; at: number; order: string; once: string } & (
  | { kind: "note"; text: string }
  | { kind: "finding"; finding: NewFinding }
);

const PLACE = "kept-entries";
const DAY_MS = 86_400_000;

function read(): Kept[] {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(PLACE) ?? "[]");
    return Array.isArray(found) ? found.filter(isKept).filter((one) => Date.now() - one.at < DAY_MS) : [];
  } catch {
    return [];
  }
}

function isKept(one: unknown): one is Kept {
  return typeof one === "object" && one !== null && "person" in one && "once" in one && "order" in one && "kind" in one && "at" in one;
}

export const kept = signal<Kept[]>(read());
/** What the server would not take, with its words. */
export const notTaken = signal<{ entry: Kept; why: string }[]>([]);

effect(() => {
  if (kept.value.length === 0) localStorage.removeItem(PLACE);
  else localStorage.setItem(PLACE, JSON.stringify(kept.value));
});

export function keep(entry: Kept): void {
  kept.value = [...kept.value, entry];
}

let sending = false;

/** Sends what the person signed in has kept; stops at the first sign that the line is down. */
export async function sendKept(): Promise<void> {
  const me = signedIn.value?.person.id;
  if (sending || me === undefined) return;
  sending = true;
  try {
    for (const entry of kept.value.filter((one) => one.person === me)) {
      const answer = entry.kind === "note"
        ? await calls.orders.note(entry.order, entry.text, entry.once)
        : await calls.findings.add(entry.order, entry.finding, entry.once);
      if (answer.kind === "away") return;
      kept.value = kept.value.filter((one) => one.once !== entry.once);
      if (answer.kind !== "ok") {
        const problem = answer.kind === "problem" ? answer.problem : answer.current;
        notTaken.value = [...notTaken.value, { entry, why: problem.detail ?? problem.title }];
      }
    }
  } finally {
    sending = false;
  }
}

effect(() => {
  if (lineDown.value === undefined && signedIn.value !== undefined) void sendKept();
});
