import type { Shop, ShopEdit, TaxClass } from "../api/shapes";
import { readAmount } from "./money";
import { mergeFields, same } from "./merge-fields";
import { calendarOf, hoursWords, readHours, WEEKDAYS, type Calendar, type Span, type Weekday } from "./opening-hours";
import { readDecimal } from "./quote-draft";

/** The shop's settings while they are being changed: numbers and hours are texts until they are read. */
export type ShopDraft = {
  name: string;
  phone: string;
  email: string;
  address: string;
  labour_rate: string;
  quote_days: string;
  quote_reminder_days: string;
  pickup_reminder_days: string;
  terms: string;
  prices_include_tax: boolean;
  tax_classes: readonly TaxClass[];
  hours: Record<Weekday, string>;
  closed: readonly Span[];
  extra_days: readonly { date: string; hours: string }[];
};

/** Where a draft is wrong: the field, and the place in its list where it is one. */
export type ShopFault = { field: "name" | "labour_rate" | "quote_days" | "quote_reminder_days" | "pickup_reminder_days" } | { field: "hours"; day: Weekday } | { field: "closed" | "extra_days" | "tax_classes"; at: number };

export function draftOf(shop: Shop): ShopDraft {
  const calendar = calendarOf(shop);
  const hours = (day: Weekday) => hoursWords(calendar.weekly[day] ?? []);
  return {
    name: shop.name, phone: shop.phone, email: shop.email, address: shop.address, labour_rate: shop.labour_rate.amount,
    quote_days: String(shop.quote_days), quote_reminder_days: shop.quote_reminder_days.join(", "), pickup_reminder_days: shop.pickup_reminder_days.join(", "), terms: shop.terms, prices_include_tax: shop.prices_include_tax, tax_classes: shop.tax_classes,
    hours: {
      monday: hours("monday"), tuesday: hours("tuesday"), wednesday: hours("wednesday"), thursday: hours("thursday"),
      friday: hours("friday"), saturday: hours("saturday"), sunday: hours("sunday"),
    },
    closed: calendar.closed,
    extra_days: calendar.extra_days.map(({ date, open }) => ({ date, hours: hoursWords(open) })),
  };
}

const FIELDS = ["name", "phone", "email", "address", "labour_rate", "quote_days", "quote_reminder_days", "pickup_reminder_days", "terms", "prices_include_tax", "tax_classes", "calendar"] as const satisfies readonly (keyof ShopEdit)[];
export type ShopField = (typeof FIELDS)[number];

/** What the shop says in a field, in the form in which it is changed. */
function standing(shop: Shop, field: ShopField): unknown {
  return field === "labour_rate" ? (readAmount(shop.labour_rate.amount, shop.currency) ?? shop.labour_rate.amount) : field === "calendar" ? calendarOf(shop) : shop[field];
}

/** At most ten days from 1 to 365 that rise, such as `7, 21, 60`; nothing is no day. */
export function readDays(typed: string): number[] | undefined {
  const parts = typed.split(/[\s,;]+/).filter((part) => part !== "");
  const days = parts.map((part) => (/^\d{1,3}$/.test(part) ? Number(part) : 0));
  const fits = days.every((day, at) => day >= 1 && day <= 365 && day > (days[at - 1] ?? 0));
  return fits && days.length <= 10 ? days : undefined;
}

/** Only what the draft changes of the shop as it was shown, or everything that is wrong with it. */
export function readShop(draft: ShopDraft, shown: Shop): { edit: ShopEdit } | { faults: ShopFault[] } {
  const faults: ShopFault[] = [];
  const rate = readAmount(draft.labour_rate, shown.currency);
  const days = /^\d{1,3}$/.test(draft.quote_days.trim()) ? Number(draft.quote_days) : 0;
  if (draft.name.trim() === "") faults.push({ field: "name" });
  if (rate === undefined) faults.push({ field: "labour_rate" });
  if (days < 1 || days > 365) faults.push({ field: "quote_days" });
  const [quote_reminder_days, pickup_reminder_days] = [readDays(draft.quote_reminder_days), readDays(draft.pickup_reminder_days)];
  if (quote_reminder_days === undefined) faults.push({ field: "quote_reminder_days" });
  if (pickup_reminder_days === undefined) faults.push({ field: "pickup_reminder_days" });
  const tax_classes = draft.tax_classes.map(({ id, percent }, at): TaxClass => {
    const read = readDecimal(percent, 3);
    const again = draft.tax_classes.findIndex((one) => one.id.trim() === id.trim()) !== at;
    if (read === undefined || Number(read) > 100 || id.trim() === "" || again) faults.push({ field: "tax_classes", at });
    return { id: id.trim(), percent: read ?? "0" };
  });
  const weekly: Calendar["weekly"] = {};
  for (const day of WEEKDAYS) {
    const spans = readHours(draft.hours[day]);
    if (spans === undefined) faults.push({ field: "hours", day });
    else if (spans.length > 0) weekly[day] = spans;
  }
  draft.closed.forEach(({ from, to }, at) => {
    if (from === "" || to < from) faults.push({ field: "closed", at });
  });
  const extra_days = draft.extra_days.map(({ date, hours }, at) => {
    const open = readHours(hours);
    const again = draft.extra_days.findIndex((one) => one.date === date) !== at;
    if (date === "" || open === undefined || again) faults.push({ field: "extra_days", at });
    return { date, open: open ?? [] };
  });
  if (faults.length > 0) return { faults };
  const wanted: Record<ShopField, unknown> = {
    name: draft.name.trim(), phone: draft.phone.trim(), email: draft.email.trim(), address: draft.address.trim(), labour_rate: rate, quote_days: days,
    quote_reminder_days, pickup_reminder_days, terms: draft.terms.trim(), prices_include_tax: draft.prices_include_tax, tax_classes,
    calendar: { time_zone: shown.time_zone, weekly, closed: draft.closed, extra_days },
  };
  return { edit: Object.fromEntries(FIELDS.filter((field) => !same(wanted[field], standing(shown, field))).map((field) => [field, wanted[field]])) };
}

/** Which fields of a change somebody else has changed meanwhile to something else. */
export function differencesIn(edit: ShopEdit, shown: Shop, current: Shop): { field: ShopField; yours: unknown; theirs: unknown }[] {
  return FIELDS.filter((field) => field in edit && !same(standing(shown, field), standing(current, field)) && !same(edit[field], standing(current, field)))
    .map((field) => ({ field, yours: edit[field], theirs: standing(current, field) }));
}

/** What was typed, over the shop as it stands now; `undefined` where both changed a field: the save will ask. */
export function draftOver(draft: ShopDraft, shown: Shop, current: Shop): ShopDraft | undefined {
  const { merged, both } = mergeFields(draftOf(shown), draft, draftOf(current));
  return both.length > 0 ? undefined : merged;
}
