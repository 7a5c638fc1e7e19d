/** What is printed at the counter. */
export type PaperName = "tag" | "label" | "receipt";

/** What comes out of the printer with each check-in; on some machines there is none. */
export const AFTER_CHECK_IN = ["tag", "label", "none"] as const;
export type AfterCheckIn = (typeof AFTER_CHECK_IN)[number];

const PLACE = "paper-after-check-in";

/** What this machine prints with a check-in: the tag, until somebody chooses otherwise here. */
export function afterCheckIn(kept: Pick<Storage, "getItem"> = localStorage): AfterCheckIn {
  const found = kept.getItem(PLACE);
  return AFTER_CHECK_IN.find((one) => one === found) ?? "tag";
}

export function keepAfterCheckIn(choice: AfterCheckIn, kept: Pick<Storage, "setItem"> = localStorage): void {
  kept.setItem(PLACE, choice);
}

/**
 * What is printed right after a check-in. The receipt is on paper where no e-mail goes out, and
 * only once nothing more of the same customer follows.
 */
export function papersAtOnce(choice: AfterCheckIn, hasMail: boolean, moreFollow: boolean): PaperName[] {
  if (choice === "none") return [];
  return hasMail || moreFollow ? [choice] : [choice, "receipt"];
}
