/**
 * Dates and instants as people read them. A calendar date of the shop is `YYYY-MM-DD` and has no
 * zone; an instant is RFC 3339 and is shown in the shop's zone.
 */

/** The locale of the screens; the words of `src/words/en.ts` are British. */
export const LOCALE = "en-GB";

const DAY_MS = 86_400_000;

/** Midnight UTC of a calendar date, in milliseconds; only for reckoning with whole days. */
function daysSinceEpoch(date: string): number {
  return Math.round(Date.parse(`${date}T00:00:00Z`) / DAY_MS);
}

export function addDays(date: string, days: number): string {
  return new Date((daysSinceEpoch(date) + days) * DAY_MS).toISOString().slice(0, 10);
}

/** Whole days from one date to another; negative when `to` is earlier. */
export function daysBetween(from: string, to: string): number {
  return daysSinceEpoch(to) - daysSinceEpoch(from);
}

/** 1 is Monday, 7 is Sunday (ISO 8601). */
export function weekdayOf(date: string): number {
  // 1 January 1970 was a Thursday.
  return ((((daysSinceEpoch(date) + 3) % 7) + 7) % 7) + 1;
}

/** The Monday of the week in which the date lies. */
export function mondayOf(date: string): string {
  return addDays(date, 1 - weekdayOf(date));
}

const formats = new Map<string, Intl.DateTimeFormat>();
function format(options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = JSON.stringify(options);
  let known = formats.get(key);
  if (known === undefined) formats.set(key, (known = new Intl.DateTimeFormat(LOCALE, options)));
  return known;
}
const plain = (text: string) => text.replaceAll(",", "");
const noon = (date: string) => new Date(`${date}T12:00:00Z`);

/** `Tue 16 June` */
export function dayWords(date: string): string {
  return plain(format({ weekday: "short", day: "numeric", month: "long", timeZone: "UTC" }).format(noon(date)));
}

/** `Tuesday 16 June`, for screen readers and sentences. */
export function longDayWords(date: string): string {
  return plain(format({ weekday: "long", day: "numeric", month: "long", timeZone: "UTC" }).format(noon(date)));
}

/** `Tue 16` */
export function shortDayWords(date: string): string {
  return plain(format({ weekday: "short", day: "numeric", timeZone: "UTC" }).format(noon(date)));
}

/** `16`: the day of the month alone, where the row says the rest. */
export function dayNumberWords(date: string): string {
  return String(Number(date.slice(8)));
}

/** `16 Jun`, under a mark of a plot: never in figures alone, which are read one way here and another there. */
export function markDateWords(date: string): string {
  return plain(format({ day: "numeric", month: "short", timeZone: "UTC" }).format(noon(date)));
}

/** `Tue 16 Jun`, where there is little room. */
export function shortDateWords(date: string): string {
  return plain(format({ weekday: "short", day: "numeric", month: "short", timeZone: "UTC" }).format(noon(date)));
}

/** `13 July` */
export function dateWords(date: string): string {
  return plain(format({ day: "numeric", month: "long", timeZone: "UTC" }).format(noon(date)));
}

/** `Oct 2024` */
export function monthWords(date: string): string {
  return format({ month: "short", year: "numeric", timeZone: "UTC" }).format(noon(date));
}

/** `22–26 June`, or `29 June – 3 July` across months. */
export function spanWords(from: string, to: string): string {
  if (from === to) return dateWords(from);
  if (from.slice(0, 7) === to.slice(0, 7)) return `${Number(from.slice(8))}–${dateWords(to)}`;
  return `${dateWords(from)} – ${dateWords(to)}`;
}

/** The calendar date in the shop's zone at this instant. */
export function dateAt(instant: string | Date, zone: string): string {
  // The Swedish form of a date is the ISO one.
  return new Intl.DateTimeFormat("sv-SE", { timeZone: zone, dateStyle: "short" }).format(new Date(instant));
}

/** `10:41` in the shop's zone. */
export function clockWords(instant: string | Date, zone: string): string {
  return format({ hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone }).format(new Date(instant));
}

/** `10:41` on the same day, `Tue 9 June, 10:41` on another, with the year when it is another. */
export function momentWords(instant: string, zone: string, now: Date): string {
  const date = dateAt(instant, zone);
  const today = dateAt(now, zone);
  const clock = clockWords(instant, zone);
  if (date === today) return clock;
  if (date.slice(0, 4) === today.slice(0, 4)) return `${dayWords(date)}, ${clock}`;
  return `${dateWords(date)} ${date.slice(0, 4)}, ${clock}`;
}

/** A running clock: `00:23:41`. Never negative, hours may pass 99. */
export function runningWords(since: string, now: Date): string {
  const seconds = Math.max(0, Math.floor((now.getTime() - Date.parse(since)) / 1000));
  const two = (n: number) => String(n).padStart(2, "0");
  return `${two(Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

/** A sentence of the server with its instants (`2026-12-02 10:22 UTC`) as the shop's clock shows them. */
export function inShopTime(text: string, zone: string, now: Date): string {
  return text.replaceAll(/(\d{4}-\d{2}-\d{2})[ T](\d{2}:\d{2})(?::\d{2})? UTC/g, (_, day: string, clock: string) => momentWords(`${day}T${clock}:00Z`, zone, now));
}
