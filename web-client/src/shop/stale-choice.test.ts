import { expect, test } from "vitest";
import { standing } from "./stale-choice";

const tried = { title: "Braze the crack", price: { amount: "62.00", currency: "EUR" }, after: ["a"] };
const stale = { differences: [{ field: "title", yours: "Braze the crack", theirs: "Patch it" }, { field: "price", yours: tried.price, theirs: { amount: "70.00", currency: "EUR" } }] };

test("of what differs only what was chosen is written over the other's", () => {
  expect(standing(tried, stale, new Set(["price"]))).toEqual({ price: tried.price, after: ["a"] });
  expect(standing(tried, stale, new Set(["price", "title"]))).toEqual(tried);
  expect(standing(tried, stale, new Set())).toEqual({ after: ["a"] });
});

test("where nothing differs everything is sent again", () => {
  expect(standing(tried, {}, new Set())).toEqual(tried);
});
