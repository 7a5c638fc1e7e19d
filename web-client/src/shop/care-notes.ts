import type { CareNote, Family } from "../api/shapes";

/** Only the notes that say something else than they did. */
export function careNotesEdit(standing: readonly CareNote[], typed: Partial<Record<Family, string>>): Partial<Record<Family, string | null>> {
  const changed = standing.filter(({ family, words }) => typed[family] !== undefined && typed[family].trim() !== words);
  return Object.fromEntries(changed.map(({ family }) => [family, typed[family]?.trim() ?? null]));
}
