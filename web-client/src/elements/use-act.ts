import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { never, type Answer } from "../api/answer";
import { readAnew } from "../api/line";
import type { Problem, Stale } from "../api/shapes";
import { words } from "../words";

/** Why an act did not go through, to be said in the place where it was tried. */
export type Refusal =
  | { kind: "problem"; problem: Problem }
  | { kind: "stale"; current: Stale }
  | { kind: "away"; again_at?: Date };

export type Act = {
  busy: boolean;
  refusal: Refusal | undefined;
  /**
   * Asks the server once; a second press while it is under way does nothing. The key stays the same
   * until it went through, so that a repeat after a cut line has one effect.
   */
  run: <T>(ask: (once: string) => Promise<Answer<T>>, done?: (value: T) => void | Promise<void>) => Promise<boolean>;
  clear: () => void;
};

/** One act of a person with its refusal. */
export function useAct(): Act {
  return useMemo(makeAct, []);
}

/** [`useAct`] without a screen. */
export function makeAct(): Act {
  const busy = signal(false);
  const refusal = signal<Refusal | undefined>(undefined);
  let key = "";
  return {
    get busy() {
      return busy.value;
    },
    get refusal() {
      return refusal.value;
    },
    clear: () => {
      refusal.value = undefined;
    },
    run: async (ask, done) => {
      if (busy.peek()) return false;
      busy.value = true;
      refusal.value = undefined;
      key ||= crypto.randomUUID();
      try {
        const answer = await ask(key);
        switch (answer.kind) {
          case "ok":
            key = "";
            await done?.(answer.value);
            return true;
          case "problem":
            if (answer.problem.type === "key-reused") {
              // The answer to the first try was lost and what is asked now is another thing: the first
              // stands. It is shown before a second one can be made of it.
              key = "";
              readAnew.value += 1;
              refusal.value = { kind: "problem", problem: { ...answer.problem, title: words.refused.triedTitle, detail: words.refused.tried } };
              return false;
            }
            refusal.value = answer;
            return false;
          case "stale":
          case "away":
            refusal.value = answer;
            return false;
          default:
            return never(answer);
        }
      } finally {
        busy.value = false;
      }
    },
  };
}

/** What the server says is wrong with one field, by its JSON pointer. */
export function faultAt(refusal: Refusal | undefined, pointer: string): string | undefined {
  if (refusal?.kind !== "problem") return undefined;
  return refusal.problem.errors?.find((one) => one.pointer === pointer)?.message;
}

/** The same where the field is a list that is typed as one: its first fault, whichever place it has. */
export function listFaultAt(refusal: Refusal | undefined, pointer: string): string | undefined {
  if (refusal?.kind !== "problem") return undefined;
  return refusal.problem.errors?.find((one) => one.pointer === pointer || one.pointer.startsWith(`${pointer}/`))?.message;
}
