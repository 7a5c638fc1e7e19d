import { describe, expect, it } from "vitest";
import { ownJobs } from "./own-jobs";

describe("on how many own jobs the minutes rest", () => {
  const method = { minutes: { low: 8, typical: 12, high: 25 }, own_count: 9 };
  it("says so while they stand as proposed", () => {
    expect(ownJobs(method, { low: "8", typical: " 12 ", high: "25" })).toBe(9);
  });
  it("says nothing of minutes that somebody typed, of typical ones, and without a method", () => {
    expect(ownJobs(method, { low: "8", typical: "14", high: "25" })).toBeUndefined();
    expect(ownJobs({ ...method, own_count: null }, { low: "8", typical: "12", high: "25" })).toBeUndefined();
    expect(ownJobs(undefined, { low: "", typical: "", high: "" })).toBeUndefined();
  });
});
