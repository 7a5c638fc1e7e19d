import { expect, test } from "vitest";
import { readTyped } from "./typed-readings";

test("readings are typed as they are read off: seconds, Pa and perhaps the temperature", () => {
  expect(readTyped("0 3000\n15 2950,5\r\n\n30;2900.25;20,1\n45\t2850")).toEqual({
    readings: [{ t_s: 0, gauge_pa: 3000 }, { t_s: 15, gauge_pa: 2950.5 }, { t_s: 30, gauge_pa: 2900.25, temperature_c: 20.1 }, { t_s: 45, gauge_pa: 2850 }],
  });
  expect(readTyped(" \n")).toEqual({ readings: [] });
});

test.each([["0 3000\n15", 2], ["0 3000 20 1", 1], ["time pressure", 1], ["0 3000\n\n15 abc", 3], ["1e3 5", 1], ["0 3,000,0", 1]])("%j cannot be read from line %d on", (text, line) => {
  expect(readTyped(text)).toEqual({ line });
});
