import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { never, type Answer } from "../api/answer";
import type { Problem, Stale } from "../api/shapes";

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
  const busy = useSignal(false);
  const refusal = useSignal<Refusal | undefined>(undefined);
  const once = useRef("");
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
      once.current ||= crypto.randomUUID();
      try {
        const answer = await ask(once.current);
        switch (answer.kind) {
          case "ok":
            once.current = "";
            await done?.(answer.value);
            return true;
          case "problem":
            // A key that already stands for another body can only be given up.
            if (answer.problem.type === "key-reused") once.current = "";
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
