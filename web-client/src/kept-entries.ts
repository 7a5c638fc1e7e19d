import { signal, type ReadonlySignal } from "@preact/signals";
import type { Answer } from "./api/answer";
import type { NewFinding } from "./api/shapes";

/**
 * What is written while the line is down: kept on this computer with its idempotency key, sent when
 * the line is back, oldest first. Stage moves, decisions and money are never kept: they have to be
 * seen when they are made. Starting a clock is none either, because the server decides whether a
 * step may start.
 */
export type Kept = { person: string; at: number; order: string; once: string } & (
  | { kind: "note"; text: string }
  | { kind: "finding"; finding: NewFinding }
  /** `since` names the run of the clock that was stopped: another run is left alone. */
  | { kind: "clock"; operation: string; action: "stop" | "done"; since: string; step: string }
);
/** An entry the server would not take, with its words; it stays until somebody has seen it. */
export type NotTaken = { entry: Kept; why: string };
/** `sent`; `later` when nothing is known and it is to be tried again; else why it was refused. */
export type Outcome = "sent" | "later" | { refused: string };

type Store = Pick<Storage, "getItem" | "setItem">;
/** Does something while no other window of this browser does it. */
export type Alone = (what: () => Promise<void>) => Promise<void>;

const PLACE = "kept-entries";
/** As long as the server promises to know a key again; after that a repeat could have two effects. */
export const DAY_MS = 86_400_000;

/**
 * The entries of everybody on this computer. The storage is the truth and is read before every
 * change, so that two windows do not overwrite each other's entries.
 */
export class KeptEntries {
  readonly #store: Store;
  readonly #send: (entry: Kept) => Promise<Outcome>;
  readonly #now: () => number;
  readonly #tooOld: string;
  readonly #alone: Alone;
  readonly #kept = signal<readonly Kept[]>([]);
  readonly #notTaken = signal<readonly NotTaken[]>([]);
  #sending: Promise<void> | undefined;
  #next: Promise<void> | undefined;

  /**
   * `tooOld` is what is said of an entry that could not be sent for a day; `alone` lets one window
   * send while the others wait.
   */
  constructor(store: Store, send: (entry: Kept) => Promise<Outcome>, tooOld: string, alone: Alone, now: () => number = Date.now) {
    this.#store = store;
    this.#send = send;
    this.#tooOld = tooOld;
    this.#alone = alone;
    this.#now = now;
    this.readAgain();
  }

  get kept(): ReadonlySignal<readonly Kept[]> {
    return this.#kept;
  }
  get notTaken(): ReadonlySignal<readonly NotTaken[]> {
    return this.#notTaken;
  }

  keep(entry: Kept): void {
    this.#change((kept, notTaken) => [[...kept, entry], notTaken]);
  }

  /** Somebody has seen what was not taken: it goes. */
  drop(person: string): void {
    this.#change((kept, notTaken) => [kept, notTaken.filter(({ entry }) => entry.person !== person)]);
  }

  /** Takes in what another window has written. */
  readAgain(): void {
    this.#change((kept, notTaken) => [kept, notTaken]);
  }

  /**
   * Sends what this person has kept; stops at the first sign that the line is down. Asked for while a
   * sending is under way, it follows it once: what was kept meanwhile must not wait.
   */
  send(person: string): Promise<void> {
    if (this.#sending === undefined) {
      this.#sending = this.#alone(() => this.#sendAll(person)).finally(() => {
        this.#sending = undefined;
      });
      return this.#sending;
    }
    const after = () => {
      this.#next = undefined;
      return this.send(person);
    };
    this.#next ??= this.#sending.then(after, after);
    return this.#next;
  }

  async #sendAll(person: string): Promise<void> {
    for (;;) {
      // What another window has sent meanwhile is gone, and what it has kept is there.
      this.readAgain();
      const entry = this.#kept.value.find((one) => one.person === person);
      if (entry === undefined) return;
      const outcome = await this.#send(entry);
      if (outcome === "later") return;
      this.#change((kept, notTaken) => [
        kept.filter((one) => one.once !== entry.once),
        outcome === "sent" ? notTaken : [...notTaken, { entry, why: outcome.refused }],
      ]);
    }
  }

  #change(how: (kept: readonly Kept[], notTaken: readonly NotTaken[]) => [readonly Kept[], readonly NotTaken[]]): void {
    const before = this.#read();
    const old = (entry: Kept) => this.#now() - entry.at >= DAY_MS;
    const [kept, notTaken] = how(
      before.kept.filter((one) => !old(one)),
      [...before.notTaken, ...before.kept.filter(old).map((entry) => ({ entry, why: this.#tooOld }))],
    );
    const text = JSON.stringify({ kept, notTaken });
    if (text !== JSON.stringify(before)) this.#store.setItem(PLACE, text);
    this.#kept.value = kept;
    this.#notTaken.value = notTaken;
  }

  #read(): { kept: readonly Kept[]; notTaken: readonly NotTaken[] } {
    try {
      const found: unknown = JSON.parse(this.#store.getItem(PLACE) ?? "null");
      if (typeof found !== "object" || found === null || !("kept" in found) || !("notTaken" in found)) return { kept: [], notTaken: [] };
      const list = (of: unknown): unknown[] => (Array.isArray(of) ? of : []);
      return { kept: list(found.kept).filter(isKept), notTaken: list(found.notTaken).filter(isNotTaken) };
    } catch {
      return { kept: [], notTaken: [] };
    }
  }
}

/**
 * What an answer means for a kept entry. Signed out, too many requests, the same entry just being
 * written and a server in trouble say nothing about the entry; everything else that is no success is
 * a refusal with words.
 */
export function outcomeOf(answer: Answer<unknown>): Outcome {
  if (answer.kind === "ok") return "sent";
  if (answer.kind === "away") return "later";
  const problem = answer.kind === "problem" ? answer.problem : answer.current;
  if (problem.status === 401 || problem.status === 429 || problem.status >= 500) return "later";
  if (problem.type === "twin-running") return "later";
  return { refused: problem.detail ?? problem.title };
}

function isKept(one: unknown): one is Kept {
  return typeof one === "object" && one !== null && ["person", "at", "order", "once", "kind"].every((name) => name in one);
}
function isNotTaken(one: unknown): one is NotTaken {
  return typeof one === "object" && one !== null && "why" in one && "entry" in one && isKept(one.entry);
}
