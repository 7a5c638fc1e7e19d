import { expect, test } from "vitest";
import type { BenchSettings } from "../api/shapes";
import { mergeFields } from "./merge-fields";
import { benchDraftOf, benchFrom, fieldsOfBench, readBench, renamed, withoutStation, withStation } from "./bench-draft";

const joints = { soft_soldered: 8, slide_fit: 1, threaded: 2, tenon_and_cork: 1, pivot: 4 };
const settings: BenchSettings = {
  stations: ["bench", "torch"], changeover_minutes: [[0, 5], [8, 0]], start_station: "bench",
  take_apart_minutes: joints, put_together_minutes: { ...joints, soft_soldered: 12 }, protect_minutes: { heat_sink: 3, water: 9, wet_rag: 5 }, margin_k: 25, rod_diameter_mm: 1.5,
};

test("what is shown and not changed is what is sent", () => {
  expect(readBench(benchDraftOf(settings))).toEqual({ settings });
});

test("a new station wants its name and the minutes to and from it", () => {
  const draft = withStation(benchDraftOf(settings));
  expect(readBench(draft)).toEqual({ faults: ["station 2", "changeover 0 2", "changeover 1 2", "changeover 2 0", "changeover 2 1"] });
  const full = { ...renamed(draft, 2, "wheel"), changeover: [["0", "5", "4"], ["8", "0", "10"], ["5", "9", "0"]] };
  expect(readBench(full)).toMatchObject({ settings: { stations: ["bench", "torch", "wheel"], changeover_minutes: [[0, 5, 4], [8, 0, 10], [5, 9, 0]] } });
});

test("a station that goes takes its row, its column and the beginning of the day with it", () => {
  expect(readBench(withoutStation(benchDraftOf(settings), 0))).toMatchObject({ settings: { stations: ["torch"], changeover_minutes: [[0]] } });
  expect(withoutStation(benchDraftOf(settings), 0).start).toBeUndefined();
  expect(withoutStation({ ...benchDraftOf(settings), start: 1 }, 0)).toMatchObject({ stations: ["torch"], start: 0 });
  expect(withoutStation(benchDraftOf(settings), 1).start).toBe(0);
});

test("where the day begins keeps its station under another name", () => {
  expect(readBench(renamed(benchDraftOf(settings), 0, "vice"))).toMatchObject({ settings: { stations: ["vice", "torch"], start_station: "vice" } });
  // Typed anew from an empty field, and by way of another station's name.
  const typed = (at: number, ...names: string[]) => readBench(names.reduce((draft, name) => renamed(draft, at, name), benchDraftOf(settings)));
  expect(typed(0, "", "v", "vice")).toMatchObject({ settings: { start_station: "vice" } });
  expect(typed(1, "benc", "bench", "bench 2")).toMatchObject({ settings: { stations: ["bench", "bench 2"], start_station: "bench" } });
  expect(typed(0, "torch", "torches")).toMatchObject({ settings: { stations: ["torches", "torch"], start_station: "torches" } });
});

test("the same name twice, too many minutes and too wide a margin are named", () => {
  const draft = benchDraftOf(settings);
  expect(readBench({ ...draft, stations: ["bench", "bench"], take: { ...draft.take, pivot: "601" }, margin: "250", rod: "0" })).toEqual({ faults: ["station 1", "take pivot", "margin", "rod"] });
});

test("field by field and back, a draft stays what it was", () => {
  const draft = { ...renamed(benchDraftOf(settings), 1, "wheel"), margin: "30" };
  expect(benchFrom(fieldsOfBench(draft))).toEqual(draft);
  expect(benchFrom(fieldsOfBench({ ...draft, start: undefined })).start).toBeUndefined();
});

test("minutes of one person and stations of another both stand; two tables of stations are asked about as a whole", () => {
  const before = benchDraftOf(settings);
  const theirs = renamed(before, 1, "brazing hearth");
  const minutes = { ...before, take: { ...before.take, pivot: "6" } };
  const laid = mergeFields(fieldsOfBench(before), fieldsOfBench(minutes), fieldsOfBench(theirs));
  expect([laid.both, laid.theirs]).toEqual([[], ["stations"]]);
  expect(benchFrom(laid.merged)).toMatchObject({ stations: ["bench", "brazing hearth"], take: { pivot: "6" } });
  const table = mergeFields(fieldsOfBench(before), fieldsOfBench({ ...before, changeover: [["0", "7"], ["8", "0"]] }), fieldsOfBench(theirs));
  expect(table.both.map((one) => one.field)).toEqual(["stations"]);
});
