/** The ring list in English, in a file of its own: the board comes without it. */

import { count } from "./count";

export const ring = {
  title: "Ring list",
  heading: (n: number) => (n === 0 ? "Nobody to ring" : `${count(n, "person", "people")} to ring`),
  what: "Whom no e-mail reaches. Nothing is decided here: what somebody answers is recorded on the order.",
  nobody: "Everybody was reached.",
  since: (when: string) => `Not told since ${when}`,
  cameBack: "the e-mail came back",
  noNumber: "No telephone number is known.",
  answer: "Record the answer…",
  note: "What was said",
  noteLabel: (name: string) => `What was said with ${name}`,
  how: (name: string) => `How the call with ${name} went`,
  outcomes: { no_answer: "No answer", left_message: "Left a message", spoke: "Spoke" },
  noted: (name: string, outcome: string) => `${name}: ${outcome.toLowerCase()}, noted.`,
  calls: (n: number) => count(n, "call", "calls"),
  call: (outcome: string, when: string, by: string) => `${outcome}, ${when}, ${by}`,
  also: (what: string[]) => `Also: ${what.join("; ")}`,
  made: "Telephone calls",
  again: "Ask again",
  noneMade: "Nobody has been rung about it.",
  callTo: (name: string, when: string, by: string) => `${name}, ${when}, by ${by}`,
  noteCall: (name: string) => `Note a call with ${name}`,
  tell: {
    quote_sent: "A quote waits for an answer", extra_work: "Extra work was found and waits for an answer", newer_quote: "A newer quote waits for an answer",
    answer_reminder: "The quote still waits for an answer", answer_again: "They asked for the quote once more", acceptance_disputed: "The answer was taken back; ask again",
    tests_passed: "Ready to collect: it passed its tests", overridden: "Ready to collect, on the proprietor’s word", nothing_to_do: "Ready to collect: nothing to repair",
    declined: "Ready to collect, not repaired: declined", withdrawn: "Ready to collect: withdrawn", unanswered: "Ready to collect: no answer came", not_repairable: "Ready to collect: it cannot be repaired",
    pickup_reminder: "Still waits to be collected", date_moved: "The planned day is another one", examination_begins: "The examination has begun",
    covered_beforehand: "Work goes on within what was allowed", accepted: "The yes was recorded", extra_declined: "The extra is off, the rest goes on", extra_recalled: "The shop took the extra back",
    quote_recalled: "The shop took the quote back", questions: "The question has arrived", expired: "The quote’s time ran out", bench_done: "The bench work is done", test_failed: "A test found something",
    reopened: "It is examined again", shipped: "It is on its way", otherwise_settled: "The order was settled",
  },
};
