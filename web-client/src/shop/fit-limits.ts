import type { FitKind, GaugeKind, Shop } from "../api/shapes";
import { readDecimal } from "./quote-draft";

type Settings = Shop["test_settings"];
export const SLIDES = ["tuning_slide", "hand_slide", "valve", "tenon_with_cork"] as const satisfies readonly FitKind[];
export const GAUGES = ["calliper", "micrometer", "bore_gauge"] as const satisfies readonly GaugeKind[];

/** Fields as typed, by their names: `valve 0`, `shank taper`, `calliper u`, `pressure gain`; empty: not set. */
export type FitLimitsDraft = Readonly<Record<string, string>>;

const shown = (value: number | null | undefined) => (value == null ? "" : String(Number(value.toPrecision(6))));

export function fitLimitsOf(settings: Settings): FitLimitsDraft {
  const draft: Record<string, string> = {};
  const of = (kind: FitKind) => settings.fit_limits?.find((one) => one.fit_kind === kind);
  for (const kind of SLIDES) for (const at of [0, 1, 2]) draft[`${kind} ${at}`] = shown(of(kind)?.limits_mm?.[at]);
  draft["shank taper"] = shown(of("shank")?.target_taper_mm_per_mm);
  draft["shank tolerance"] = shown(of("shank")?.tolerance_mm_per_mm);
  for (const gauge of GAUGES) {
    const own = settings.gauges?.find((one) => one.gauge === gauge);
    draft[`${gauge} u`] = shown(own?.u_mm);
    draft[`${gauge} resolution`] = shown(own?.resolution_mm);
  }
  draft["pressure resolution"] = shown(settings.pressure_gauge?.resolution_pa);
  draft["pressure gain"] = shown(settings.pressure_gauge == null ? undefined : settings.pressure_gauge.gain_u_rel * 100);
  return draft;
}

/** The shop's test settings with these limits and tools in them, or the names of the fields that are wrong. */
export function readFitLimits(draft: FitLimitsDraft, settings: Settings): { settings: Settings } | { faults: string[] } {
  const faults: string[] = [];
  const typed = (name: string) => draft[name]?.trim() ?? "";
  /** A row is set as a whole or not at all. */
  const row = (names: readonly string[], most: number, optional: readonly string[] = []): number[] | undefined => {
    if ([...names, ...optional].every((name) => typed(name) === "")) return undefined;
    return [...names, ...optional].map((name) => {
      if (typed(name) === "" && optional.includes(name)) return Number.NaN;
      const read = readDecimal(typed(name), 6);
      const value = read === undefined ? Number.NaN : Number(read);
      if (!(value >= 0 && value <= most)) faults.push(name);
      return value;
    });
  };
  const fit_limits: NonNullable<Settings["fit_limits"]> = [];
  for (const fit_kind of SLIDES) {
    const names = [0, 1, 2].map((at) => `${fit_kind} ${at}`);
    const limits_mm = row(names, 10);
    if (limits_mm === undefined) continue;
    const [tight = 0, slightly = 0, free = 0] = limits_mm;
    if (slightly <= tight) faults.push(`${fit_kind} 1`);
    if (free <= slightly) faults.push(`${fit_kind} 2`);
    fit_limits.push({ fit_kind, limits_mm });
  }
  const shank = row(["shank taper"], 1, ["shank tolerance"]);
  if (shank !== undefined) {
    const [target_taper_mm_per_mm = 0, tolerance = Number.NaN] = shank;
    fit_limits.push({ fit_kind: "shank", target_taper_mm_per_mm, ...(Number.isNaN(tolerance) ? {} : { tolerance_mm_per_mm: tolerance }) });
  }
  const gauges = GAUGES.flatMap((gauge) => {
    const own = row([`${gauge} u`, `${gauge} resolution`], 1);
    if (own?.[0] === 0) faults.push(`${gauge} u`);
    return own === undefined ? [] : [{ gauge, u_mm: own[0] ?? 0, resolution_mm: own[1] ?? 0 }];
  });
  const { pressure_gauge: _, ...rest } = settings;
  const pressure = row(["pressure resolution"], 1000);
  const gain = row(["pressure gain"], 50);
  if ((pressure === undefined) !== (gain === undefined)) faults.push(pressure === undefined ? "pressure resolution" : "pressure gain");
  const own = pressure === undefined || gain === undefined ? {} : { pressure_gauge: { resolution_pa: pressure[0] ?? 0, gain_u_rel: (gain[0] ?? 0) / 100 } };
  return faults.length > 0 ? { faults: [...new Set(faults)] } : { settings: { ...rest, fit_limits, gauges, ...own } };
}
