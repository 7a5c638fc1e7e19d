import { describe, expect, test } from "vitest";
import { columnOf, columnWords, scaleOf } from "./scale";
import { addDays, weekdayOf } from "./dates";

/** Monday to Friday from a day on. */
function weekdays(from: string, count: number, closed: readonly string[] = []): string[] {
  const days: string[] = [];
  for (let day = from; days.length < count; day = addDays(day, 1)) if (weekdayOf(day) <= 5 && !closed.includes(day)) days.push(day);
  return days;
}
const words = { before: "Before today", today: "Today", from: (day: string) => `from ${day}` };
const said = (columns: ReturnType<typeof scaleOf>) => columns.map((column) => columnWords(column, words).join(" "));

describe("the scale of working days", () => {
  // The board's mock-up shows this very week.
  const columns = scaleOf("2026-06-11", weekdays("2026-06-11", 60));

  test("goes from before today over the days to the end of next week, three weeks, and the rest", () => {
    expect(said(columns)).toEqual([
      "Before today", "Today Thu 11 Jun", "Fri 12", "Mon 15", "Tue 16", "Wed 17", "Thu 18", "Fri 19",
      "22–26 June", "29 June – 3 July", "6–10 July", "from 13 July",
    ]);
  });
  test("marks the day a new week opens", () => {
    expect(columns.flatMap((column) => (column.kind === "day" && column.opensWeek ? [column.from] : []))).toEqual(["2026-06-15"]);
  });
  test.each([
    ["2026-06-01", 0], ["2026-06-10", 0], ["2026-06-11", 1], ["2026-06-12", 2], ["2026-06-16", 4], ["2026-06-19", 7],
    ["2026-06-22", 8], ["2026-06-26", 8], ["2026-07-03", 9], ["2026-07-10", 10], ["2026-07-13", 11], ["2027-01-01", 11],
  ])("a promise for %s stands in column %i", (day, column) => {
    expect(columnOf(columns, day)).toBe(column);
  });
  test("a promise on a closed day stands under the last open day before it", () => {
    expect(columnOf(columns, "2026-06-13")).toBe(2);
    expect(columnOf(columns, "2026-06-21")).toBe(7);
    expect(columnOf(columns, "2026-06-28")).toBe(8);
    expect(columnOf(columns, "2026-07-12")).toBe(10);
  });
  test("closed days are left out", () => {
    const holiday = scaleOf("2026-06-11", weekdays("2026-06-11", 60, ["2026-06-16", "2026-06-22"]));
    expect(said(holiday).slice(3, 8)).toEqual(["Mon 15", "Wed 17", "Thu 18", "Fri 19", "23–26 June"]);
    expect(columnOf(holiday, "2026-06-22")).toBe(holiday.findIndex((column) => column.kind === "week"));
  });
  test("today keeps its column on a closed day", () => {
    const sunday = scaleOf("2026-06-14", weekdays("2026-06-15", 60));
    expect(said(sunday).slice(0, 4)).toEqual(["Before today", "Today Sun 14 Jun", "Mon 15", "Tue 16"]);
    expect(columnOf(sunday, "2026-06-14")).toBe(1);
  });
  test("a week the server gave no days of is taken from Monday to Friday", () => {
    expect(said(scaleOf("2026-06-11", weekdays("2026-06-11", 3))).slice(4)).toEqual(["22–26 June", "29 June – 3 July", "6–10 July", "from 13 July"]);
  });
  test("every date has exactly one place, and a later date never stands further left", () => {
    let last = 0;
    for (let day = "2026-05-01", i = 0; i < 150; i += 1, day = addDays(day, 1)) {
      const column = columnOf(columns, day);
      expect(column).toBeGreaterThanOrEqual(last);
      last = column;
    }
    expect(last).toBe(columns.length - 1);
  });
});
