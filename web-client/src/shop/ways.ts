import type { Because, Move } from "../api/shapes";

/** Where on the screen an act is done that makes a move by itself. */
export type Place = "quote" | "extra" | "answer" | "mistake" | "test" | "handover";

const PLACES: Partial<Record<Because, Place>> = {
  quote_sent: "quote", extra_work: "extra",
  accepted: "answer", declined: "answer", questions: "answer", extra_declined: "answer",
  acceptance_disputed: "mistake",
  test_failed: "test", tests_passed: "test",
  collected: "handover", shipped: "handover",
};
/** Acts whose place is worth opening before the move is possible: there it is made ready. */
const PREPARED: readonly Because[] = ["quote_sent", "tests_passed", "collected"];
/** Moves that are rarely wanted stand apart, so that nobody presses them by habit. */
const RARE: readonly Because[] = ["otherwise_settled", "entered_by_mistake", "overridden"];
/** The end before its time has a form of its own. */
const ENDINGS: readonly Because[] = ["withdrawn", "unanswered", "not_repairable"];

/** What may come next for the person asking. */
export type Ways = {
  /** Acts that are done elsewhere on the screen, the likeliest first; one way for each place. */
  acts: Place[];
  /** Moves made by a button here. */
  moves: Move[];
  /** Moves by a button that hardly anybody wants. */
  rare: Move[];
  /** What cannot be done yet, with what is in the way. */
  notYet: Move[];
};

/**
 * Sorts the moves from here by how the person asking makes them. What the server says may not be
 * done is never offered: it is told with its reason, or left out where another way leads to the same.
 */
export function waysOn(moves: readonly Move[]): Ways {
  const common = moves.filter((move) => !RARE.includes(move.because) && !ENDINGS.includes(move.because));
  const isOpen = (place: Place) => common.some((move) => move.may && PLACES[move.because] === place);
  const acts = [...new Set(common.flatMap((move) => {
    const place = PLACES[move.because];
    return place !== undefined && (move.may || PREPARED.includes(move.because)) ? [place] : [];
  }))];
  const mayAlso = new Set(moves.filter((move) => move.may).map((move) => move.because));
  const notYet = common.filter((move) => {
    if (move.may || !move.why_not || mayAlso.has(move.because)) return false;
    const place = PLACES[move.because];
    // An owner who has nothing to answer, or took nothing back, is no news.
    return place === undefined ? !move.act : PREPARED.includes(move.because) && !isOpen(place);
  });
  return {
    acts: [...acts.filter((place) => place !== "mistake"), ...acts.filter((place) => place === "mistake")],
    moves: common.filter((move) => move.may && !move.act),
    rare: moves.filter((move) => RARE.includes(move.because) && move.may && !move.act),
    notYet: notYet.filter((move, at) => notYet.findIndex((one) => one.because === move.because) === at),
  };
}
