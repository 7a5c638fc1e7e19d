import { expect, test } from "vitest";
import { lookAgainDay, nextOpenDay } from "./open-days";

// Monday to Friday; 25 and 26 December are closed.
const open = ["2026-12-18", "2026-12-21", "2026-12-22", "2026-12-23", "2026-12-24", "2026-12-28", "2026-12-29"];

test("after a Friday and after a feast the next open day is not tomorrow", () => {
  expect(nextOpenDay("2026-12-18", open)).toBe("2026-12-21");
  expect(nextOpenDay("2026-12-21", open)).toBe("2026-12-22");
  expect(nextOpenDay("2026-12-24", open)).toBe("2026-12-28");
  expect(nextOpenDay("2026-12-29", open)).toBeUndefined();
});
test("a hold is looked at again a week on, when the shop is open", () => {
  expect(lookAgainDay("2026-12-14", open)).toBe("2026-12-21");
  expect(lookAgainDay("2026-12-18", open)).toBe("2026-12-28");
  expect(lookAgainDay("2026-12-29", open)).toBe("2027-01-05");
});
