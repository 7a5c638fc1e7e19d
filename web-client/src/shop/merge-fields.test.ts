import { expect, test } from "vitest";
import { asChosen, mergeFields } from "./merge-fields";

const before = { trumpet: "5", horn: "6", flute: "", tuba: "9" };

test("what only one of two changed stands, and what both changed is asked about", () => {
  const mine = { ...before, trumpet: "5.5", flute: "2", tuba: "8" };
  const saved = { ...before, trumpet: "4", horn: "7", tuba: "8" };
  const laid = mergeFields(before, mine, saved);
  expect(laid).toEqual({
    merged: { trumpet: "5.5", horn: "7", flute: "2", tuba: "8" },
    both: [{ field: "trumpet", yours: "5.5", theirs: "4" }],
    theirs: ["horn"],
  });
  expect(asChosen(laid, new Set(["trumpet"])).trumpet).toBe("5.5");
  expect(asChosen(laid, new Set()).trumpet).toBe("4");
});

test("whoever typed nothing gets what was saved; where nobody saved, what was typed stays", () => {
  const other = { ...before, horn: "7" };
  expect(mergeFields(before, before, other)).toEqual({ merged: other, both: [], theirs: ["horn"] });
  expect(mergeFields(before, other, before)).toEqual({ merged: other, both: [], theirs: [] });
});
