import type { Money } from "../api/shapes";
import { LOCALE } from "./dates";

/** How many decimals the currency has (ISO 4217 minor unit): 2 for EUR, 0 for JPY, 3 for BHD. */
export function decimalsOf(currency: string): number {
  return new Intl.NumberFormat(LOCALE, { style: "currency", currency }).resolvedOptions().maximumFractionDigits ?? 2;
}

/** `€340.00`. The amount stays a decimal text on its way: no binary fraction touches it. */
export function moneyWords(money: Money): string {
  const format = new Intl.NumberFormat(LOCALE, { style: "currency", currency: money.currency });
  // Since ECMA-402 of 2023 a decimal text is formatted exactly; older type libraries do not say so.
  return isDecimal(money.amount) ? format.format(money.amount) : `${money.amount} ${money.currency}`;
}

function isDecimal(text: string): text is `${number}` {
  return /^-?\d+(\.\d+)?$/.test(text);
}

/**
 * Reads an amount as somebody types it: `340`, `340,5`, `€1,234.50`, `1.234,50`.
 *
 * Gives the decimal text with the currency's decimals, or `undefined` when it is no amount, is
 * negative or has more decimals than the currency. A single separator followed by exactly three
 * digits is a thousands separator, unless the currency has three decimals.
 */
export function readAmount(typed: string, currency: string): string | undefined {
  const decimals = decimalsOf(currency);
  const bare = typed.replaceAll(/[\s\u00a0\u202f'’]/g, "").replaceAll(/\p{Sc}/gu, "").replace(currency, "");
  const parts = /^(\d{1,3}(?:[.,]\d{3})+|\d+)(?:([.,])(\d+))?$/.exec(bare) ?? undefined;
  if (parts === undefined) return undefined;
  let [whole, mark, fraction] = [parts[1] ?? "", parts[2], parts[3] ?? ""];
  const inside = /[.,]/.exec(whole)?.[0];
  if (inside !== undefined) {
    if (inside === mark || (whole.includes(".") && whole.includes(","))) return undefined;
    const groups = whole.split(inside);
    if (mark === undefined && groups.length === 2 && decimals === 3) [whole, fraction] = [groups[0] ?? "", groups[1] ?? ""];
    else whole = groups.join("");
  }
  if (fraction.length > decimals) return undefined;
  const amount = whole.replace(/^0+(?=\d)/, "");
  return decimals === 0 ? amount : `${amount}.${fraction.padEnd(decimals, "0")}`;
}

/** The amount as it stands in a field. */
export function amountInField(money: Money | null | undefined): string {
  return money?.amount ?? "";
}

/** Whether the amount is nothing. */
export function isZero(money: Money): boolean {
  return /^-?0*(\.0*)?$/.test(money.amount);
}

/**
 * What so many minutes cost at the shop's hourly rate, rounded half away from zero to the
 * currency's decimals. A proposal for a field: the server reckons what is charged.
 */
export function labourPrice(rate: Money, minutes: number): Money {
  const decimals = decimalsOf(rate.currency);
  const [whole = "0", fraction = ""] = rate.amount.split(".");
  const units = BigInt(whole + fraction.padEnd(decimals, "0").slice(0, decimals));
  const cost = (units * BigInt(minutes) * 2n + 60n) / 120n;
  const digits = String(cost).padStart(decimals + 1, "0");
  const amount = decimals === 0 ? digits : `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  return { amount, currency: rate.currency };
}
