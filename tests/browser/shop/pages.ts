import type { Scenes } from "./scenes";

export type Shown = { link: (scenes: Scenes) => string; says: RegExp };
/** The pages of customers, by the link that opens each and what it says. */
export const PAGES: Record<string, Shown> = {
  "a quote to answer": { link: (of) => of.quoted.answer, says: /What your tuba needs/ },
  "extra work to answer": { link: (of) => of.extra.answer, says: /crack/i },
  "a quote with an open question": { link: (of) => of.question.answer, says: /We have your question/ },
  "a quote after a newer one": { link: (of) => of.superseded.answer, says: /flugelhorn/i },
  "the status, on the bench": { link: (of) => of.bench.status, says: /baritone/i },
  "the status, an answer wanted": { link: (of) => of.extra.status, says: /baritone/i },
  "the status, accepted": { link: (of) => of.accepted.status, says: /trombone/i },
  "the status, ready": { link: (of) => of.pickup.status, says: /saxophone/i },
  "the status, declined": { link: (of) => of.declined.status, says: /flute/i },
  "the status, collected": { link: (of) => of.closed.status, says: /trumpet/i },
};
