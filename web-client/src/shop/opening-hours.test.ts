import { expect, test } from "vitest";
import type { Shop } from "../api/shapes";
import { calendarOf, hoursWords, isOver, readHours } from "./opening-hours";

const shop = (calendar: unknown): Shop => ({
  name: "", address: "", phone: "", email: "", language: "en", time_zone: "Europe/Berlin", currency: "EUR", calendar: calendar as Shop["calendar"],
  tax_classes: [], prices_include_tax: true, labour_rate: { amount: "60.00", currency: "EUR" }, quote_days: 14, quote_reminder_days: [7, 14], pickup_reminder_days: [7, 21, 60], terms: "", test_settings: {}, care_notes: [], version: 1,
});

test("hours are read as people type them, and written one way", () => {
  expect(hoursWords(readHours("9-12:30, 13.30 – 18") ?? [])).toBe("09:00–12:30, 13:30–18:00");
  expect(readHours("")).toEqual([]);
  expect(readHours("22–24")).toEqual([{ from: "22:00", to: "24:00" }]);
  expect(readHours("9–12, 12–18")).toHaveLength(2);
});
test.each(["9", "18–9", "9–9", "9–12, 11–18", "9–25", "9:75–10", "9–12–18", "morning"])("%s is refused", (typed) => {
  expect(readHours(typed)).toBeUndefined();
});
test("what is written is read again as it was", () => {
  const spans = [{ from: "08:15", to: "12:00" }, { from: "13:00", to: "17:45" }];
  expect(readHours(hoursWords(spans))).toEqual(spans);
});
test("a calendar keeps its closings and its extra days", () => {
  const kept = { time_zone: "Europe/Berlin", weekly: { monday: [{ from: "09:00", to: "18:00" }] }, closed: [{ from: "2026-12-24", to: "2027-01-02" }], extra_days: [{ date: "2026-12-19", open: [{ from: "10:00", to: "14:00" }] }] };
  expect(calendarOf(shop(kept))).toEqual(kept);
});
test("a calendar that says nothing has no hours", () => {
  expect(calendarOf(shop({}))).toEqual({ time_zone: "Europe/Berlin", weekly: {}, closed: [], extra_days: [] });
});
test("closed days are over the day after their last; a span being written is not, nor one that is wrong", () => {
  expect(isOver({ from: "2026-11-20", to: "2026-11-27" }, "2026-11-28")).toBe(true);
  expect(isOver({ from: "2026-11-20", to: "2026-11-28" }, "2026-11-28")).toBe(false);
  expect(isOver({ from: "2026-11-20", to: "" }, "2026-11-28")).toBe(false);
  expect(isOver({ from: "2026-11-20", to: "2025-11-27" }, "2026-11-28")).toBe(false);
});
