import { expect, test } from "vitest";
import { dialled } from "./dialled";

test("what is written for people is dialled as digits", () => {
  expect(dialled("0555 777-001")).toBe("0555777001");
  expect(dialled("+351 555 010 200")).toBe("+351555010200");
});

test("a zero in brackets is not dialled from abroad", () => {
  expect(dialled("+44 (0)555 0102")).toBe("+445550102");
  expect(dialled("(0) 555 0102")).toBe("05550102");
});
