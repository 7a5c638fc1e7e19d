import type { Shop } from "../api/shapes";

/** The shop's calendar as the server keeps it: local times `HH:MM`, dates of the shop, both ends of a closing included. */
export type Calendar = {
  time_zone: string;
  weekly: Partial<Record<Weekday, Span[]>>;
  closed: Span[];
  extra_days: { date: string; open: Span[] }[];
};
export type Span = { from: string; to: string };
export const WEEKDAYS = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"] as const;
export type Weekday = (typeof WEEKDAYS)[number];

/** The calendar of a shop. What is no calendar is read as one without hours. */
export function calendarOf(shop: Shop): Calendar {
  const known: Record<string, unknown> = isThing(shop.calendar) ? shop.calendar : {};
  const weekly: Record<string, unknown> = isThing(known["weekly"]) ? known["weekly"] : {};
  return {
    time_zone: shop.time_zone,
    weekly: Object.fromEntries(WEEKDAYS.flatMap((day) => {
      const spans = spansIn(weekly[day]);
      return spans.length === 0 ? [] : [[day, spans]];
    })),
    closed: spansIn(known["closed"]),
    extra_days: listIn(known["extra_days"]).flatMap((one) =>
      isThing(one) && typeof one["date"] === "string" ? [{ date: one["date"], open: spansIn(one["open"]) }] : []),
  };
}

function isThing(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
function listIn(value: unknown): unknown[] {
  return Array.isArray(value) ? value : [];
}
function spansIn(value: unknown): Span[] {
  return listIn(value).flatMap((one) =>
    isThing(one) && typeof one["from"] === "string" && typeof one["to"] === "string" ? [{ from: one["from"], to: one["to"] }] : []);
}

/** Whether closed days are over, so that a settings page may fold them away. What is not yet written is not. */
export function isOver({ from, to }: Span, today: string): boolean {
  return to !== "" && from <= to && to < today;
}

/** `09:00–12:30, 13:30–18:00`; empty for a closed day. */
export function hoursWords(spans: readonly Span[]): string {
  return spans.map(({ from, to }) => `${from}–${to}`).join(", ");
}

/**
 * Hours as somebody types them: `9-12:30, 13.30–18`; empty for a closed day. `undefined` when they
 * are none, do not rise, or overlap. A span ends at 24:00 at the latest.
 */
export function readHours(typed: string): Span[] | undefined {
  const spans: Span[] = [];
  let last = 0;
  for (const piece of typed.split(/[,;]/).map((one) => one.trim()).filter((one) => one !== "")) {
    const ends = piece.split(/\s*[-–—]\s*/).map(minuteOf);
    const [from, to] = ends;
    if (ends.length !== 2 || from === undefined || to === undefined || from < last || to <= from) return undefined;
    spans.push({ from: clockOf(from), to: clockOf(to) });
    last = to;
  }
  return spans;
}

function minuteOf(text: string): number | undefined {
  const [, hours, minutes = "0"] = /^(\d{1,2})(?:[:.](\d{2}))?$/.exec(text) ?? [];
  if (hours === undefined || Number(minutes) > 59) return undefined;
  const minute = Number(hours) * 60 + Number(minutes);
  return minute <= 24 * 60 ? minute : undefined;
}

function clockOf(minute: number): string {
  return `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;
}
