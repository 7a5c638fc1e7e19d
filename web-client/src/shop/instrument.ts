import type { Family, Instrument } from "../api/shapes";

/** `Baritone, Halvane, about 1925`: what is known of it, the family first with a capital. */
export function instrumentWords(instrument: Pick<Instrument, "family" | "maker" | "model" | "age_text">, families: Record<Family, string>): string {
  const family = families[instrument.family];
  const named = family.charAt(0).toUpperCase() + family.slice(1);
  return [named, [instrument.maker, instrument.model].filter(Boolean).join(" "), instrument.age_text].filter(Boolean).join(", ");
}
