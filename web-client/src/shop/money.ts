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

/** Amounts of one currency together. Decimal texts with a sign; exact. */
export function sumOf(amounts: readonly Money[], currency: string): Money {
  const decimals = decimalsOf(currency);
  return { amount: textOf(amounts.reduce((sum, money) => sum + unitsOf(money.amount, decimals), 0n), decimals), currency };
}

/** By how much an amount is more than what is due; `undefined` where it is not. */
export function moreThan(amount: Money, due: Money): Money | undefined {
  const decimals = decimalsOf(due.currency);
  const over = unitsOf(amount.amount, decimals) - unitsOf(due.amount, decimals);
  return over > 0n ? { amount: textOf(over, decimals), currency: due.currency } : undefined;
}

/** The amount with so many percent (up to three places) of tax on top, the tax rounded half away from zero. */
export function withTax(net: Money, percent: string): Money {
  const decimals = decimalsOf(net.currency);
  const units = unitsOf(net.amount, decimals);
  const hundredThousandths = unitsOf(percent, 3);
  const product = units * hundredThousandths;
  const half = product < 0n ? -50_000n : 50_000n;
  return { amount: textOf(units + (product + half) / 100_000n, decimals), currency: net.currency };
}

/** A decimal text as a whole number of its smallest units; finer digits are cut off. */
function unitsOf(amount: string, decimals: number): bigint {
  const [, sign = "", whole = "0", fraction = ""] = /^(-?)(\d+)(?:\.(\d+))?$/.exec(amount) ?? [];
  const units = BigInt(whole + fraction.padEnd(decimals, "0").slice(0, decimals));
  return sign === "-" ? -units : units;
}

function textOf(units: bigint, decimals: number): string {
  const digits = String(units < 0n ? -units : units).padStart(decimals + 1, "0");
  const amount = decimals === 0 ? digits : `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  return units < 0n ? `-${amount}` : amount;
}

/**
 * What so many minutes cost at the shop's hourly rate, rounded half away from zero to the
 * currency's decimals. A proposal for a field: the server reckons what is charged.
 */
export function labourPrice(rate: Money, minutes: number): Money {
  const decimals = decimalsOf(rate.currency);
  const cost = (unitsOf(rate.amount, decimals) * BigInt(minutes) * 2n + 60n) / 120n;
  return { amount: textOf(cost, decimals), currency: rate.currency };
}
