import { describe, expect, test } from "vitest";
import { decimalsOf, isZero, labourPrice, moneyWords, moreThan, readAmount } from "./money";

test("amounts read in the shop's currency, exactly", () => {
  expect(moneyWords({ amount: "340.00", currency: "EUR" })).toBe("€340.00");
  expect(moneyWords({ amount: "1234.50", currency: "GBP" })).toBe("£1,234.50");
  // More digits than a binary fraction holds.
  expect(moneyWords({ amount: "90071992547409.93", currency: "EUR" })).toBe("€90,071,992,547,409.93");
});
test("decimals follow ISO 4217", () => {
  expect(["EUR", "JPY", "BHD", "CHF"].map(decimalsOf)).toEqual([2, 0, 3, 2]);
});

describe("an amount as somebody types it", () => {
  test.each([
    ["340", "EUR", "340.00"], ["340.5", "EUR", "340.50"], ["340,50", "EUR", "340.50"], ["€340.00", "EUR", "340.00"], ["340 €", "EUR", "340.00"],
    ["1,234.50", "EUR", "1234.50"], ["1.234,50", "EUR", "1234.50"], ["1 234,50", "EUR", "1234.50"], ["1’234.50", "CHF", "1234.50"], ["CHF 20", "CHF", "20.00"],
    ["1,234", "EUR", "1234.00"], ["1,234", "BHD", "1.234"], ["1,234,567", "BHD", "1234567.000"], ["007", "EUR", "7.00"], ["0", "EUR", "0.00"],
    ["1,500", "JPY", "1500"], ["1500", "JPY", "1500"],
  ])("%s in %s is %s", (typed, currency, amount) => {
    expect(readAmount(typed, currency)).toBe(amount);
  });
  test.each(["", "about 300", "-5", "1.2.3", "1,23,456", "1,234,50", "5.", ".5", "1e3"])("“%s” is none", (typed) => {
    expect(readAmount(typed, "EUR")).toBeUndefined();
  });
  test("more decimals than the currency has are refused, not rounded", () => {
    expect(readAmount("3.4567", "EUR")).toBeUndefined();
    expect(readAmount("3.5", "JPY")).toBeUndefined();
  });
});

test("labour is proposed to the cent, half away from zero", () => {
  expect(labourPrice({ amount: "64.00", currency: "EUR" }, 30)).toEqual({ amount: "32.00", currency: "EUR" });
  expect(labourPrice({ amount: "0.30", currency: "EUR" }, 1)).toEqual({ amount: "0.01", currency: "EUR" });
  expect(labourPrice({ amount: "0.29", currency: "EUR" }, 1)).toEqual({ amount: "0.00", currency: "EUR" });
  expect(labourPrice({ amount: "6000", currency: "JPY" }, 45)).toEqual({ amount: "4500", currency: "JPY" });
});
test("nothing is nothing in every spelling", () => {
  expect(["0", "0.00", "0.000", "-0.00"].map((amount) => isZero({ amount, currency: "EUR" }))).toEqual([true, true, true, true]);
  expect(isZero({ amount: "0.01", currency: "EUR" })).toBe(false);
});

test("what is paid beyond what is due is told exactly", () => {
  const eur = (amount: string) => ({ amount, currency: "EUR" });
  expect(moreThan(eur("1240.00"), eur("124.00"))).toEqual(eur("1116.00"));
  expect(moreThan(eur("124.01"), eur("124.00"))).toEqual(eur("0.01"));
  expect(moreThan(eur("124.00"), eur("124.00"))).toBeUndefined();
  expect(moreThan(eur("60.00"), eur("124.00"))).toBeUndefined();
});
