import { expect, test } from "vitest";
import type { CareNote } from "../api/shapes";
import { careNotesEdit } from "./care-notes";

const standing: CareNote[] = [{ family: "horn", words: "Oil the rotors.", kind: "typical" }, { family: "tuba", words: "", kind: "own" }];

test("only what says something else is sent; an emptied note says nothing from then on", () => {
  expect(careNotesEdit(standing, {})).toEqual({});
  expect(careNotesEdit(standing, { horn: " Oil the rotors. ", tuba: "" })).toEqual({});
  expect(careNotesEdit(standing, { horn: "", tuba: "Oil the valves." })).toEqual({ horn: "", tuba: "Oil the valves." });
});
