import { expect, test } from "vitest";
import { photoEdit } from "./photo-edit";

const photo = { caption: "the crack", finding_id: "f1" };

test("a new caption leaves the photo where it is pinned", () => {
  expect(photoEdit(photo, { caption: " the crack, wetted ", finding: "f1" })).toEqual({ caption: "the crack, wetted" });
});

test("another finding, or none, is told, and what was left alone is not", () => {
  expect(photoEdit(photo, { caption: "the crack", finding: "f2" })).toEqual({ finding_id: "f2" });
  expect(photoEdit(photo, { caption: "the crack", finding: "" })).toEqual({ finding_id: null });
  expect(photoEdit({ caption: null, finding_id: null }, { caption: "", finding: "" })).toEqual({});
});
