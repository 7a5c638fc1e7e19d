import { expect, test } from "vitest";
import { verdictWords } from "./pressure-verdict";

test("of a log that is no steady fall it is said before all else, and never as too close to call", () => {
  const uneven = "the pressure rose between row 2 and row 32, by 840 Pa: the pump was still on";
  expect(verdictWords({ uneven }, "not_decidable")).toBe("Not decidable: no steady fall");
  expect(verdictWords({ uneven, rose_pa: 12 }, "not_decidable")).toBe("Not decidable: no steady fall");
  expect(verdictWords({ rose_pa: 12 }, "not_decidable")).toBe("Not decidable: the pressure rose");
  expect(verdictWords({ uneven: null, rose_pa: null }, "not_decidable")).toBe("Too close to call");
  expect(verdictWords({ rose_pa: 90 }, "fail")).toBe("Fail");
});
