import { expect, test } from "vitest";
import { smallHelps } from "./small-helps";

test("which rod is cut, and the patch to make", () => {
  expect(smallHelps({
    filler: { words: "Cut 0.61 mm of 1.5 mm rod (bag_7), ± 30 %.", patch_length_mm: 20.5, patch_width_mm: 6.1, shown_length_mm: 0.61 },
  })).toEqual(["Cut 0.61 mm of 1.5 mm rod (BAg-7), ± 30 %.", "Patch to make: 21 × 6.1 mm."]);
});

test("beside the poor butt joint stands what a patch would take", () => {
  expect(smallHelps({
    filler: { words: "Cut 0.61 mm of 1.5 mm rod (bag_7), ± 30 %. A butt joint fills poorly and is the weak one: a patch or a lap holds better.", with_patch: { length_mm: 8.04, patch_length_mm: 20, patch_width_mm: 6.1 } },
  })[1]).toBe("With a patch of 20 × 6.1 mm: 8.1 mm of rod.");
});

test("a spot is told with its metal, size, charge, minutes and current", () => {
  expect(smallHelps({ plating: { metal: "gold_i", words: "gold_i, a round spot 14 mm wide, 10 µm thick (typical): 0.0045 A h, about 1.8 minutes.", current_a: 0.1539 } }))
    .toEqual(["Gold (I), a round spot 14 mm wide, 10 µm thick (typical): 0.0045 A h, about 1.8 minutes. At 0.154 A."]);
});

test("what is missing is asked for, and without helps there is none", () => {
  expect(smallHelps({ filler: { wants: "size_mm", words: "Measure how long the crack is; then the filler can be told." } })).toEqual(["Measure how long the crack is; then the filler can be told."]);
  expect(smallHelps({ filler: null, plating: null })).toEqual([]);
});

test("only the slug that was meant is given its name: what else looks like one stays", () => {
  expect(smallHelps({ plating: { metal: "silver", words: "silver, a round spot 14 mm wide; see sheet_7." } })).toEqual(["Silver, a round spot 14 mm wide; see sheet_7."]);
  expect(smallHelps({ filler: { words: "Cut 2 mm of 1.5 mm rod (sac305), ± 30 %. Rod sac305 is on the shelf." } })).toEqual(["Cut 2 mm of 1.5 mm rod (SAC305), ± 30 %. Rod sac305 is on the shelf."]);
});
