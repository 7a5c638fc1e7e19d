import { expect, test } from "vitest";
import { words } from "../words";
import { faultWords, pointerWords, saidOnce } from "./pointer-words";

test.each([
  ["/email", "E-mail"],
  ["/customer/email", "E-mail"],
  ["/lines/1/text", "Text, 2"],
  ["/counter_marks/0/part", "Part, 1"],
  ["/may_cost/amount", "May cost, without asking"],
  ["/payment/amount", "Amount"],
  ["/collected_by", "Who collects it"],
  ["/accessories/2", "What came with it, 3"],
  ["q", "Search"],
  // A field without a word of its own says at least its name.
  ["/some_new_field", "Some new field"],
])("%s is %s", (pointer, label) => expect(pointerWords(pointer, words.fields)).toBe(label));

test("the whole body has no field", () => expect(pointerWords("", words.fields)).toBeUndefined());
test("the field stands before what is wrong with it", () => {
  expect(faultWords({ pointer: "/owner/email", message: "is no e-mail address" }, words.fields)).toBe("E-mail: is no e-mail address");
  expect(faultWords({ pointer: "", message: "Send one object." }, words.fields)).toBe("Send one object.");
});

test("what is wrong with every row alike is said once, with the first and the last", () => {
  const high = (row: number) => `Readings: row ${row}, column 2: is over 10 kPa`;
  expect(saidOnce([high(2), high(3), high(4), "Readings: row 9, column 1: is no number"])).toEqual(["Readings: rows 2 to 4, column 2: is over 10 kPa", "Readings: row 9, column 1: is no number"]);
  expect(saidOnce([high(2), high(3), high(9)])).toEqual(["Readings: 3 rows from 2 to 9, column 2: is over 10 kPa"]);
  expect(saidOnce([high(2), high(3)])).toEqual([high(2), high(3)]);
});

test("what is no row of a file stays, once each", () => {
  expect(saidOnce(["E-mail: is missing", "Phone: is missing", "E-mail: is missing"])).toEqual(["E-mail: is missing", "Phone: is missing"]);
});
