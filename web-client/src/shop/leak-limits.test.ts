import { expect, test } from "vitest";
import { mergeFields } from "./merge-fields";
import { fieldsOfLimits, limitsFrom, limitsOf, PA_M3_S_OF_ML_MIN, readLimits } from "./leak-limits";

const FAMILIES = ["bassoon", "trumpet"] as const;
const SETTINGS = { leak_limits: [{ family: "bassoon" as const, limit_pa_m3_s: 0.01, instrument_count: 4 }], volumes: [{ family: "trumpet" as const, volume_m3: 0.0005, volume_u_m3: 0.00001 }], reference_c: 20 };

test("a limit of 0.01 Pa·m³/s is 5.92 ml a minute", () => {
  expect(PA_M3_S_OF_ML_MIN).toBeCloseTo(1.68875e-3, 8);
  expect(limitsOf(SETTINGS, FAMILIES)).toEqual({ bassoon: { limit: "5.9215", space: "" }, trumpet: { limit: "", space: "500" } });
});

test("what was not touched is sent as it was, with all that goes with it", () => {
  expect(readLimits(limitsOf(SETTINGS, FAMILIES), SETTINGS)).toEqual({ settings: SETTINGS });
});

test("a new limit takes the place of the old, an emptied one goes, and the rest of the settings stay", () => {
  const draft = { ...limitsOf(SETTINGS, FAMILIES), bassoon: { limit: "6", space: "2600" }, trumpet: { limit: "", space: "" } };
  const read = readLimits(draft, SETTINGS);
  expect(read).toMatchObject({ settings: { reference_c: 20, volumes: [{ family: "bassoon", volume_m3: 0.0026 }] } });
  expect("settings" in read && read.settings.leak_limits?.[0]?.limit_pa_m3_s).toBeCloseTo(0.0101325);
});

test("what is no amount is named", () => {
  const draft = { ...limitsOf(SETTINGS, FAMILIES), bassoon: { limit: "none", space: "0" } };
  expect(readLimits(draft, SETTINGS)).toEqual({ faults: [{ family: "bassoon", field: "limit" }, { family: "bassoon", field: "space" }] });
});

test("field by field and back, and what another person set meanwhile is not overwritten", () => {
  const before = limitsOf(SETTINGS, FAMILIES);
  expect(limitsFrom(fieldsOfLimits(before), FAMILIES)).toEqual(before);
  const mine = { ...before, trumpet: { limit: "3", space: "500" } };
  const now = { ...SETTINGS, leak_limits: [{ family: "bassoon" as const, limit_pa_m3_s: 0.02 }] };
  const { merged, both } = mergeFields(fieldsOfLimits(before), fieldsOfLimits(mine), fieldsOfLimits(limitsOf(now, FAMILIES)));
  expect(both).toEqual([]);
  expect(readLimits(limitsFrom(merged, FAMILIES), now)).toMatchObject({ settings: { leak_limits: [{ family: "bassoon", limit_pa_m3_s: 0.02 }, { family: "trumpet" }] } });
});
