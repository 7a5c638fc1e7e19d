import { expect, test } from "vitest";
import { pointedAt } from "./pointed";

const told = { side: "top", position: "40", saidSide: false, saidPosition: false };

test("what was said by hand outlives the next tap on the same part", () => {
  const said = { side: "under the brace", position: "34.5", saidSide: true, saidPosition: true };
  expect(pointedAt(said, { samePart: true, side: "left", mm: 51 })).toEqual(said);
  expect(pointedAt(said, { samePart: true, side: undefined, mm: undefined })).toEqual(said);
});

test("what the drawing told follows the tap", () => {
  expect(pointedAt(told, { samePart: true, side: "left", mm: 51 })).toEqual({ ...told, side: "left", position: "51" });
  expect(pointedAt(told, { samePart: true, side: undefined, mm: undefined })).toEqual({ ...told, side: "", position: "" });
});

test("another part is another place, whoever said the first", () => {
  expect(pointedAt({ side: "bottom", position: "34.5", saidSide: true, saidPosition: true }, { samePart: false, side: undefined, mm: 12 })).toEqual({ side: "", position: "12", saidSide: false, saidPosition: false });
});
