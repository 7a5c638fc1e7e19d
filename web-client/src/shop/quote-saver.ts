import { signal } from "@preact/signals";
import type { Answer } from "../api/answer";
import type { NewQuote, Quote } from "../api/shapes";
import type { KeptDrafts } from "../kept-drafts";
import { draftOfQuote, draftOn, readDraft, type Draft, type DraftFault } from "./quote-draft";

/** How long after the last key a draft is saved. */
export const REST_MS = 700;

export type Unsaved = Exclude<Answer<never>, { kind: "ok" }>;

/**
 * Saves a quote while it is being written, also when the screen is left before it rests. It outlives
 * its screen, so that coming back finds what was typed; what the server does not have is kept on
 * this computer meanwhile.
 */
export class QuoteSaver {
  readonly draft;
  /** As the server has it, with its totals. */
  readonly saved;
  readonly state = signal<"saved" | "typing" | "saving">("saved");
  readonly faults = signal<DraftFault[]>([]);
  readonly refusal = signal<Unsaved | undefined>(undefined);
  /** What is done after a save: the screen that shows it sets it. */
  onSaved: () => Promise<void> = async () => {};

  readonly #about: { person: string; currency: string };
  readonly #write: (id: string, quote: NewQuote, seen: number) => Promise<Answer<Quote>>;
  readonly #kept: KeptDrafts;
  #by = crypto.randomUUID();
  #version: number;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #saving = false;
  #again = false;
  #closed = false;

  constructor(
    quote: Quote,
    about: { person: string; currency: string },
    write: (id: string, quote: NewQuote, seen: number) => Promise<Answer<Quote>>,
    kept: KeptDrafts,
  ) {
    this.draft = signal(draftOfQuote(quote));
    this.saved = signal(quote);
    this.#version = quote.version;
    this.#about = about;
    this.#write = write;
    this.#kept = kept;
  }

  /** The name of this writing among the kept drafts. */
  get by(): string {
    return this.#by;
  }
  get version(): number {
    return this.#version;
  }

  change(next: Draft): void {
    if (this.#closed) return;
    this.draft.value = next;
    this.state.value = "typing";
    this.#kept.keep({ person: this.#about.person, quote: this.saved.peek().id, by: this.#by, draft: next });
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.save(), REST_MS);
  }

  /** Saves now what is not saved; a draft with faults stays kept on this computer. */
  async save(): Promise<void> {
    clearTimeout(this.#timer);
    if (this.#closed || this.state.peek() === "saved") return;
    if (this.#saving) {
      this.#again = true;
      return;
    }
    const sent = this.draft.peek();
    const read = readDraft(sent, this.#about.currency);
    this.faults.value = "faults" in read ? read.faults : [];
    if ("faults" in read) return;
    this.#saving = true;
    this.state.value = "saving";
    const answer = await this.#write(this.saved.peek().id, read.quote, this.#version);
    this.#saving = false;
    const again = this.#again;
    this.#again = false;
    const isLast = this.draft.peek() === sent;
    if (answer.kind === "ok") {
      this.#version = answer.value.version;
      this.saved.value = answer.value;
      this.refusal.value = undefined;
      if (isLast) this.#kept.drop(this.#by);
    } else {
      this.refusal.value = answer;
    }
    this.state.value = answer.kind === "ok" && isLast ? "saved" : "typing";
    if (again && !isLast) await this.save();
    else if (answer.kind === "ok") await this.onSaved();
  }

  /** The quote as it was fetched: taken where nothing typed here would be lost. */
  adopt(quote: Quote): void {
    if (quote.version > this.#version && this.state.peek() === "saved") this.take(quote);
  }

  /** Shows the quote as it is now. What was typed here stays kept, and is offered again. */
  take(quote: Quote): void {
    clearTimeout(this.#timer);
    this.#by = crypto.randomUUID();
    this.#version = quote.version;
    this.draft.value = draftOfQuote(quote);
    this.saved.value = quote;
    this.refusal.value = undefined;
    this.faults.value = [];
    this.state.value = "saved";
  }

  /** Goes on with what was written before and never arrived. */
  goOn(by: string, draft: Draft): void {
    this.change(draftOn(draft, this.saved.peek()));
    this.#kept.drop(by);
  }

  /** Sent or dropped: there is nothing more to save. */
  close(): void {
    this.#closed = true;
    clearTimeout(this.#timer);
    this.#kept.drop(this.#by);
  }
}
