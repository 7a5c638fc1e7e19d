import { readDecimal } from "./quote-draft";

/** What is wrong with the fields of a finding. */
export type FindingFaults = { kind?: "missing"; part?: "missing"; size?: "unreadable"; position?: "unreadable" | "beyond" };

/** So many digits before the point the server keeps of a length. */
const MOST_MM = 99_999.999;

function readable(typed: string): boolean {
  const read = readDecimal(typed, 3);
  return typed.trim() === "" || (read !== undefined && Number(read) <= MOST_MM);
}

/** `length_mm`: of the part chosen, where the map knows it. */
export function faultsOfFinding(typed: { kind: string; part: string; size: string; position: string }, length_mm: number | undefined): FindingFaults {
  const position = readDecimal(typed.position, 3);
  return {
    ...(typed.kind === "" ? { kind: "missing" as const } : {}),
    ...(typed.part.trim() === "" ? { part: "missing" as const } : {}),
    ...(readable(typed.size) ? {} : { size: "unreadable" as const }),
    ...(!readable(typed.position) ? { position: "unreadable" as const }
      : position !== undefined && length_mm !== undefined && Number(position) > length_mm ? { position: "beyond" as const } : {}),
  };
}
