import type { Family, Shop } from "../api/shapes";
import { readDecimal } from "./quote-draft";

type Settings = Shop["test_settings"];

/** One millilitre of air at 101,325 Pa in a minute, Pa·m³/s: pressure times volume over time. */
export const PA_M3_S_OF_ML_MIN = (101_325 * 1e-6) / 60;

/** A family's leak limit in millilitres a minute and its air space in millilitres, as typed; empty: not set. */
export type LimitDraft = Record<Family, { limit: string; space: string }>;
export type LimitFault = { family: Family; field: "limit" | "space" };

/** Up to five significant digits, so that what was typed in ml comes back as it was typed. */
const shown = (value: number) => String(Number(value.toPrecision(5)));

export function limitsOf(settings: Settings, families: readonly Family[]): LimitDraft {
  const row = (family: Family) => {
    const limit = settings.leak_limits?.find((one) => one.family === family)?.limit_pa_m3_s;
    const space = settings.volumes?.find((one) => one.family === family)?.volume_m3;
    return { limit: limit === undefined ? "" : shown(limit / PA_M3_S_OF_ML_MIN), space: space === undefined ? "" : shown(space * 1e6) };
  };
  return Object.fromEntries(families.map((family) => [family, row(family)])) as LimitDraft;
}

/**
 * The shop's test settings with these limits in them, or what cannot be read. What a row does not
 * speak of (an uncertainty, how many instruments a limit rests on) stays while its value stays.
 */
export function readLimits(draft: LimitDraft, settings: Settings): { settings: Settings } | { faults: LimitFault[] } {
  const faults: LimitFault[] = [];
  const before = limitsOf(settings, Object.keys(draft) as Family[]);
  const number = (family: Family, field: "limit" | "space") => {
    const typed = draft[family][field].trim();
    if (typed === "") return undefined;
    const read = readDecimal(typed, 6);
    if (read === undefined || !(Number(read) > 0)) faults.push({ family, field });
    return Number(read);
  };
  const families = Object.keys(draft) as Family[];
  const leak_limits = families.flatMap((family) => {
    const limit = number(family, "limit");
    const stands = settings.leak_limits?.find((one) => one.family === family);
    if (limit === undefined) return [];
    return [stands !== undefined && before[family].limit === draft[family].limit.trim() ? stands : { family, limit_pa_m3_s: limit * PA_M3_S_OF_ML_MIN }];
  });
  const volumes = families.flatMap((family) => {
    const space = number(family, "space");
    const stands = settings.volumes?.find((one) => one.family === family);
    if (space === undefined) return [];
    return [stands !== undefined && before[family].space === draft[family].space.trim() ? stands : { family, volume_m3: space / 1e6 }];
  });
  return faults.length > 0 ? { faults } : { settings: { ...settings, leak_limits, volumes } };
}

/** A draft field by field (`trumpet limit`, `trumpet space`), and back. */
export function fieldsOfLimits(draft: LimitDraft): Record<string, string> {
  return Object.fromEntries(Object.entries(draft).flatMap(([family, { limit, space }]) => [[`${family} limit`, limit], [`${family} space`, space]]));
}
export function limitsFrom(fields: Readonly<Record<string, unknown>>, families: readonly Family[]): LimitDraft {
  const text = (name: string) => String(fields[name] ?? "");
  return Object.fromEntries(families.map((family) => [family, { limit: text(`${family} limit`), space: text(`${family} space`) }])) as LimitDraft;
}
