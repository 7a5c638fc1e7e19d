import { describe, expect, it } from "vitest";
import type { WorkOrder } from "../api/shapes";
import { namesIn, wordsChanged, wordsOf } from "./put-right";

const order = {
  complaint: "It hisses.", condition_note: null, keep_as_is: "the engraving", accessories: [{ name: "case", returned: false }, { name: "oil", returned: false }],
  loaner_number: null, old_parts_back: false, examination_fee: { amount: "25.00", currency: "EUR" },
} as unknown as WorkOrder;
const FEE = { amount: "25.00", currency: "EUR" };

describe("what was written at the counter", () => {
  it("is sent only where it was typed differently", () => {
    const typed = wordsOf(order);
    expect(wordsChanged(order, typed, FEE)).toEqual({});
    expect(wordsChanged(order, { ...typed, complaint: " It rattles. ", loaner_number: "7", old_parts_back: true }, FEE)).toEqual({ complaint: "It rattles.", loaner_number: "7", old_parts_back: true });
    expect(wordsChanged(order, { ...typed, keep_as_is: " " }, FEE)).toEqual({ keep_as_is: "" });
    expect(wordsChanged(order, typed, null)).toEqual({ examination_fee: null });
  });
  it("lists one thing on each line", () => {
    expect(namesIn(" case \n\n lyre")).toEqual(["case", "lyre"]);
    expect(wordsChanged(order, { ...wordsOf(order), accessories: "case\nlyre\n" }, FEE)).toEqual({ accessories: ["case", "lyre"] });
    expect(wordsChanged(order, { ...wordsOf(order), accessories: "" }, FEE)).toEqual({ accessories: [] });
  });
});
