import { expect, test } from "vitest";
import { looksLikeClaimNumber } from "./claim-number";

// The ways of writing are those of COMPUTATIONS.md section 10, claim-number, `read`.
test.each(["1843-8", "18438", "#1843-8", " 1843 8 ", "1843.8", "1843–8", "999999999-1"])("%s may be a claim number", (text) => {
  expect(looksLikeClaimNumber(text)).toBe(true);
});
test.each(["", "0142", "5550142x", "Lund", "01843-8", "12345678901"])("%s is none", (text) => {
  expect(looksLikeClaimNumber(text)).toBe(false);
});
