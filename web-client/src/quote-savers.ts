import { effect } from "@preact/signals";
import * as calls from "./api/calls";
import type { Quote } from "./api/shapes";
import { KeptDrafts, saysSame, type KeptDraft } from "./kept-drafts";
import { QuoteSaver } from "./shop/quote-saver";
import { personHere, shopHere, signedIn } from "./store";

const drafts = new KeptDrafts(localStorage);
window.addEventListener("storage", () => drafts.readAgain());

const savers = new Map<string, QuoteSaver>();
effect(() => {
  if (signedIn.value === undefined) savers.clear();
});

/** The one that saves this quote: with what was typed before and is not saved, or anew. */
export function saverOf(quote: Quote): QuoteSaver {
  const before = savers.get(quote.id);
  if (before !== undefined && before.state.peek() !== "saved") return before;
  const mine = drafts.kept.peek().filter((one) => one.person === personHere().id && one.quote === quote.id);
  for (const one of mine) if (saysSame(one.draft, quote, shopHere().currency)) drafts.drop(one.by);
  const saver = new QuoteSaver(quote, { person: personHere().id, currency: shopHere().currency }, calls.quotes.write, drafts);
  savers.set(quote.id, saver);
  return saver;
}

/** What this person wrote on the quote before, on this computer, and the quote does not say. */
export function unsavedOn(quote: Quote, by: string): KeptDraft[] {
  return drafts.kept.value.filter((one) =>
    one.person === personHere().id && one.quote === quote.id && one.by !== by && !saysSame(one.draft, quote, shopHere().currency));
}

export function dropUnsaved(by: string): void {
  drafts.drop(by);
}
