import { expect, test } from "vitest";
import { fitLimitsOf, readFitLimits } from "./fit-limits";

const settings = {
  leak_limits: [{ family: "bassoon" as const, limit_pa_m3_s: 0.01 }],
  fit_limits: [{ fit_kind: "valve" as const, limits_mm: [0.01, 0.025, 0.04] }, { fit_kind: "shank" as const, target_taper_mm_per_mm: 0.05205, tolerance_mm_per_mm: 0.0005 }],
  gauges: [{ gauge: "micrometer" as const, u_mm: 0.002, resolution_mm: 0.001 }],
  pressure_gauge: { resolution_pa: 1, gain_u_rel: 0.005 },
};

test("what is shown and not changed is what is sent, and what stands elsewhere stays", () => {
  expect(readFitLimits(fitLimitsOf(settings), settings)).toEqual({ settings });
});

test("an emptied row is no longer set", () => {
  const draft = { ...fitLimitsOf(settings), "valve 0": "", "valve 1": "", "valve 2": "", "shank taper": "", "shank tolerance": "", "micrometer u": "", "micrometer resolution": "", "pressure resolution": "", "pressure gain": "" };
  expect(readFitLimits(draft, settings)).toEqual({ settings: { leak_limits: settings.leak_limits, fit_limits: [], gauges: [] } });
});

test("half a row, limits that do not rise and a tool without uncertainty are named", () => {
  const draft = { ...fitLimitsOf({}), "valve 0": "0,01", "tuning_slide 0": "0.05", "tuning_slide 1": "0.02", "tuning_slide 2": "0.09", "calliper u": "0", "calliper resolution": "0.01", "pressure gain": "1", "shank tolerance": "0.001" };
  const read = readFitLimits(draft, {});
  expect("faults" in read ? read.faults.toSorted() : []).toEqual(["calliper u", "pressure resolution", "shank taper", "tuning_slide 1", "valve 1", "valve 2"]);
});

test("a decimal comma is a point, and a shank may do with the typical tolerance", () => {
  const read = readFitLimits({ ...fitLimitsOf({}), "shank taper": "0,05205" }, {});
  expect(read).toEqual({ settings: { fit_limits: [{ fit_kind: "shank", target_taper_mm_per_mm: 0.05205 }], gauges: [] } });
});
