import { addDays, dateWords, mondayOf, shortDateWords, shortDayWords, spanWords } from "./dates";

/**
 * One column of the board's scale. Columns follow each other without a gap: a column holds every
 * date from its `from` up to the day before the next one's, so that a promise on a closed day
 * stands under the last open day before it.
 */
export type Column =
  | { kind: "before" }
  | { kind: "today"; from: string }
  | { kind: "day"; from: string; opensWeek: boolean }
  | { kind: "week"; from: string; to: string }
  | { kind: "beyond"; from: string };

/** How many single weeks stand between the days and the last column. */
const WEEKS = 3;

/**
 * The scale of working days: one column before today, today, each open day to the end of next
 * week, three weeks, and the rest.
 *
 * `openDays`: the shop's open dates from today on, in order; how far they reach does not matter
 * beyond next week, a week without any is taken from Monday to Friday.
 */
export function scaleOf(today: string, openDays: readonly string[]): Column[] {
  const firstWeek = addDays(mondayOf(today), 14);
  const columns: Column[] = [{ kind: "before" }, { kind: "today", from: today }];
  let week = mondayOf(today);
  for (const day of openDays) {
    if (day <= today || day >= firstWeek) continue;
    columns.push({ kind: "day", from: day, opensWeek: mondayOf(day) !== week });
    week = mondayOf(day);
  }
  for (let i = 0; i < WEEKS; i += 1) {
    const monday = addDays(firstWeek, 7 * i);
    const next = addDays(monday, 7);
    const open = openDays.filter((day) => day >= monday && day < next);
    columns.push({ kind: "week", from: open[0] ?? monday, to: open.at(-1) ?? addDays(monday, 4) });
  }
  columns.push({ kind: "beyond", from: addDays(firstWeek, 7 * WEEKS) });
  return columns;
}

/** Which column (from 0) a promise made for this date stands in. */
export function columnOf(columns: readonly Column[], promisedOn: string): number {
  let found = 0;
  columns.forEach((column, at) => {
    // A week begins on its Monday even when that Monday is closed.
    const from = column.kind === "before" ? "" : column.kind === "week" ? mondayOf(column.from) : column.from;
    if (from <= promisedOn) found = at;
  });
  return found;
}

/** What stands over the column, in one or two lines. */
export function columnWords(column: Column, words: { before: string; today: string; from: (day: string) => string }): string[] {
  switch (column.kind) {
    case "before": return [words.before];
    case "today": return [words.today, shortDateWords(column.from)];
    case "day": return [shortDayWords(column.from)];
    case "week": return [spanWords(column.from, column.to)];
    case "beyond": return [words.from(dateWords(column.from))];
  }
}
