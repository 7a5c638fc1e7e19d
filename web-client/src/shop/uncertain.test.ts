import { expect, test } from "vitest";
import { enough, plain, withUncertainty } from "./uncertain";

test.each([
  [4.83, 1.41, "4.8", "1.4"],
  [0.00812, 0.00236, "0.0081", "0.0024"],
  [12.4, 0.0996, "12.40", "0.10"],
  [-0.2, 0.5, "-0.20", "0.50"],
  [1234, 56, "1234", "56"],
  [1234, 567, "1234", "570"],
])("%d ± %d is written %s ± %s", (value, uncertainty, shown, shownUncertainty) => {
  expect(withUncertainty(value, uncertainty)).toEqual({ value: shown, uncertainty: shownUncertainty });
});

test("without a ± the value has three digits, and no exponent", () => {
  expect(withUncertainty(5.912, 0).value).toBe("5.91");
  expect(plain(0.00001234)).toBe("0.0000123");
  expect(plain(0)).toBe("0");
  expect(plain(5921)).toBe("5921");
});

test("what is cut has two digits, rounded up", () => {
  expect([8.04, 8.1, 20.5, 6.1, 0.611, 0.62, 20, 99.2, 100, 123].map(enough)).toEqual(["8.1", "8.1", "21", "6.1", "0.62", "0.62", "20", "100", "100", "130"]);
  expect(enough(0)).toBe("0");
});
