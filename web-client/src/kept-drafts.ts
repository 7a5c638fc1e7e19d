import { signal, type ReadonlySignal } from "@preact/signals";
import type { Quote } from "./api/shapes";
import { draftOfQuote, readDraft, type Draft } from "./shop/quote-draft";

/**
 * What somebody wrote on a quote and the server does not have yet. `by` names the writing: the same
 * quote open in two windows is two writings, and neither overwrites the other.
 */
export type KeptDraft = { person: string; quote: string; by: string; at: number; draft: Draft };

type Store = Pick<Storage, "getItem" | "setItem">;

const PLACE = "kept-quote-drafts";
/** A draft is no order of anybody: it may wait over a weekend, and not for ever on a shared computer. */
export const WEEK_MS = 7 * 86_400_000;

/** The unsaved quote drafts of everybody on this computer. The storage is the truth. */
export class KeptDrafts {
  readonly #store: Store;
  readonly #now: () => number;
  readonly #kept = signal<readonly KeptDraft[]>([]);

  constructor(store: Store, now: () => number = Date.now) {
    this.#store = store;
    this.#now = now;
    this.readAgain();
  }

  get kept(): ReadonlySignal<readonly KeptDraft[]> {
    return this.#kept;
  }

  /** Keeps how the draft stands now; the writing's earlier state goes. */
  keep(what: Omit<KeptDraft, "at">): void {
    this.#change((kept) => [...kept.filter((one) => one.by !== what.by), { ...what, at: this.#now() }]);
  }

  drop(by: string): void {
    this.#change((kept) => kept.filter((one) => one.by !== by));
  }

  /** Takes in what another window has written. */
  readAgain(): void {
    this.#change((kept) => kept);
  }

  #change(how: (kept: readonly KeptDraft[]) => readonly KeptDraft[]): void {
    const kept = how(this.#read().filter((one) => this.#now() - one.at < WEEK_MS));
    const text = JSON.stringify(kept);
    this.#kept.value = kept;
    try {
      if (text !== (this.#store.getItem(PLACE) ?? "[]")) this.#store.setItem(PLACE, text);
    } catch {
      // A full storage must not keep anybody from writing; the server is asked to save all the same.
    }
  }

  #read(): readonly KeptDraft[] {
    try {
      const found: unknown = JSON.parse(this.#store.getItem(PLACE) ?? "[]");
      return Array.isArray(found) ? found.filter(isKept) : [];
    } catch {
      return [];
    }
  }
}

/** Whether a draft says what the quote says already: its save had arrived, only the answer was lost. */
export function saysSame(draft: Draft, quote: Quote, currency: string): boolean {
  const [mine, theirs] = [readDraft(draft, currency), readDraft(draftOfQuote(quote), currency)];
  return "quote" in mine && "quote" in theirs && JSON.stringify(bare(mine.quote)) === JSON.stringify(bare(theirs.quote));
}

function bare<T extends { lines: { id?: string | null }[] }>(quote: T) {
  return { ...quote, lines: quote.lines.map((line) => ({ ...line, id: null })) };
}

function isKept(one: unknown): one is KeptDraft {
  if (typeof one !== "object" || one === null || !["person", "quote", "by", "at", "draft"].every((name) => name in one)) return false;
  const { draft } = one as { draft: unknown };
  return typeof draft === "object" && draft !== null && "lines" in draft && Array.isArray(draft.lines)
    && ["message", "off", "off_in", "limit", "expires_on"].every((name) => typeof (draft as Record<string, unknown>)[name] === "string")
    && draft.lines.every((line: unknown) => typeof line === "object" && line !== null
      && ["text", "quantity", "price", "off", "kind", "tax_class"].every((name) => typeof (line as Record<string, unknown>)[name] === "string"));
}
