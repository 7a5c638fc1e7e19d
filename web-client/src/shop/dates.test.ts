import { expect, test } from "vitest";
import { addDays, clockWords, dateAt, dayWords, daysBetween, longDayWords, mondayOf, momentWords, monthWords, runningWords, shortDateWords, spanWords, weekdayOf, inShopTime } from "./dates";

test("days are added and counted across months, leap days and clock changes", () => {
  expect(addDays("2028-02-28", 2)).toBe("2028-03-01");
  expect(addDays("2026-03-28", 2)).toBe("2026-03-30");
  expect(addDays("2026-01-01", -1)).toBe("2025-12-31");
  expect(daysBetween("2026-10-24", "2026-10-26")).toBe(2);
  expect(daysBetween("2026-06-11", "2026-06-01")).toBe(-10);
});
test("weeks begin on Monday", () => {
  expect(weekdayOf("2026-06-11")).toBe(4);
  expect(weekdayOf("1969-12-28")).toBe(7);
  expect(mondayOf("2026-06-14")).toBe("2026-06-08");
  expect(mondayOf("2026-06-15")).toBe("2026-06-15");
});
test("dates read as on the mock-ups", () => {
  expect(dayWords("2026-06-16")).toBe("Tue 16 June");
  expect(longDayWords("2026-06-16")).toBe("Tuesday 16 June");
  expect(shortDateWords("2026-12-23")).toBe("Wed 23 Dec");
  expect(monthWords("2024-10-07")).toBe("Oct 2024");
  expect(spanWords("2026-06-22", "2026-06-26")).toBe("22–26 June");
  expect(spanWords("2026-06-29", "2026-07-03")).toBe("29 June – 3 July");
  expect(spanWords("2026-06-29", "2026-06-29")).toBe("29 June");
});
test("an instant is shown in the shop's zone, whatever the computer's is", () => {
  expect(dateAt("2026-06-11T23:30:00Z", "Europe/Berlin")).toBe("2026-06-12");
  expect(dateAt("2026-06-11T23:30:00Z", "America/New_York")).toBe("2026-06-11");
  expect(clockWords("2026-06-11T22:05:00Z", "Europe/Berlin")).toBe("00:05");
});
test("a moment says only what is needed", () => {
  const now = new Date("2026-06-11T12:00:00Z");
  expect(momentWords("2026-06-11T08:41:00Z", "Europe/Berlin", now)).toBe("10:41");
  expect(momentWords("2026-06-09T08:52:00Z", "Europe/Berlin", now)).toBe("Tue 9 June, 10:52");
  expect(momentWords("2024-10-07T08:00:00Z", "Europe/Berlin", now)).toBe("7 October 2024, 10:00");
});
test("an instant in a sentence of the server is that of the shop’s clock", () => {
  const now = new Date("2026-06-11T12:00:00Z");
  expect(inShopTime("Tomas has it since 2026-06-11 08:41 UTC.", "Europe/Berlin", now)).toBe("Tomas has it since 10:41.");
  expect(inShopTime("From 2026-06-09T08:52:10 UTC on, 12 mm.", "Europe/Berlin", now)).toBe("From Tue 9 June, 10:52 on, 12 mm.");
  expect(inShopTime("Nothing to change, 2026-06-09.", "Europe/Berlin", now)).toBe("Nothing to change, 2026-06-09.");
});
test("a running clock never runs backwards and goes past a hundred hours", () => {
  expect(runningWords("2026-06-11T08:00:00Z", new Date("2026-06-11T08:23:41Z"))).toBe("00:23:41");
  expect(runningWords("2026-06-11T08:00:05Z", new Date("2026-06-11T08:00:00Z"))).toBe("00:00:00");
  expect(runningWords("2026-06-07T08:00:00Z", new Date("2026-06-11T13:00:00Z"))).toBe("101:00:00");
});
