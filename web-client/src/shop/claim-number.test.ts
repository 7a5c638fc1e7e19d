import { expect, test } from "vitest";
import { checkDigitFits, looksLikeClaimNumber, oneSlipAway, writtenClaimNumber } from "./claim-number";

// The ways of writing are those of COMPUTATIONS.md section 10, claim-number, `read`.
test.each(["1843-8", "18438", "#1843-8", " 1843 8 ", "1843.8", "1843–8", "999999999-1"])("%s may be a claim number", (text) => {
  expect(looksLikeClaimNumber(text)).toBe(true);
});
test.each(["", "0142", "5550142x", "Lund", "01843-8", "12345678901"])("%s is none", (text) => {
  expect(looksLikeClaimNumber(text)).toBe(false);
});

// 572 gives 4 is the example of Damm's own table; the others were made by the server.
test.each(["5724", "1843-8", "#1851-9", "1357 7", "1449-8"])("the check digit of %s fits", (text) => expect(checkDigitFits(text)).toBe(true));
test.each(["1843-7", "1834-8", "40217"])("that of %s does not", (text) => expect(checkDigitFits(text)).toBe(false));

test("a slip is told by the numbers it can come from, a swap first", () => {
  expect(oneSlipAway("8143-8")[0]).toBe("1843-8");
  expect(oneSlipAway("18430")).toContain("1843-8");
  // One digit in each place can be the wrong one.
  expect(oneSlipAway("40217").every((one) => checkDigitFits(one))).toBe(true);
  expect(oneSlipAway("40217").length).toBeGreaterThanOrEqual(5);
});
test("what fits, or is no claim number, has no slip", () => {
  expect(oneSlipAway("1843-8")).toEqual([]);
  expect(oneSlipAway("Lund")).toEqual([]);
});
test("it is written with its hyphen", () => expect(writtenClaimNumber("#18 438")).toBe("1843-8"));
