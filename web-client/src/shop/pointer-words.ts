import { words } from "../words";

/**
 * Which field a JSON pointer (RFC 6901) of a refusal names, in the words of the screens; `undefined`
 * for the body as a whole. Of a list the place is told, from 1: `Text, 2`. Parameters are named
 * without a pointer's slash.
 */
export function pointerWords(pointer: string, fields: Record<string, string>): string | undefined {
  const segments = pointer.split("/").map((one) => one.replaceAll("~1", "/").replaceAll("~0", "~")).filter((one) => one !== "");
  const names = segments.filter((one) => !isPlace(one));
  // The number and the currency of an amount are one field on the screen, called after what it is for.
  const last = names.at(-1) ?? "";
  const isOfAmount = (last === "amount" || last === "currency") && names.length > 1;
  const name = isOfAmount && names.at(-2) !== "payment" ? names.at(-2) : names.at(-1);
  if (name === undefined) return undefined;
  const label = fields[name] ?? plain(name);
  const place = segments.findLast(isPlace);
  return place === undefined ? label : `${label}, ${Number(place) + 1}`;
}

/** A message with the field that it is about in front: `E-mail: is no e-mail address`. */
export function faultWords({ pointer, message }: { pointer: string; message: string }, fields: Record<string, string>): string {
  const label = pointerWords(pointer, fields);
  return label === undefined ? message : `${label}: ${message}`;
}

function isPlace(segment: string): boolean {
  return /^\d+$/.test(segment);
}

/** A field without a word of its own still says which it is. */
function plain(name: string): string {
  const text = name.replaceAll("_", " ");
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** From so many rows on that say the same, it is said once, with the first and the last of them. */
const MANY_ROWS = 3;

/** What is wrong with many rows of a file alike is said once: `Rows 2 to 62, column 2: is over 10 kPa`. */
export function saidOnce(faults: readonly string[]): string[] {
  const ofRow = (fault: string) => /^(.*?)\brow (\d+)(\D.*)$/s.exec(fault);
  const rows = new Map<string, number[]>();
  for (const fault of faults) {
    const [, before = "", row = "", after = ""] = ofRow(fault) ?? [];
    if (row !== "") rows.set(before + after, [...(rows.get(before + after) ?? []), Number(row)]);
  }
  const said = faults.map((fault) => {
    const [, before = "", row = "", after = ""] = ofRow(fault) ?? [];
    const alike = rows.get(before + after) ?? [];
    return row === "" || alike.length < MANY_ROWS ? fault : words.refused.rows(before, Math.min(...alike), Math.max(...alike), alike.length, after);
  });
  return [...new Set(said)];
}
