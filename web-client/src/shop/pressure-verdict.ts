import type { PressureAnswer } from "../api/shapes";
import { words } from "../words";

/** The verdict, and of one that is open why, as far as the readings themselves are why. */
export function verdictWords(answer: Pick<PressureAnswer, "uneven" | "rose_pa">, verdict: NonNullable<PressureAnswer["verdict"]>): string {
  if (verdict !== "not_decidable") return words.pressure.verdicts[verdict];
  if (answer.uneven != null) return words.pressure.uneven;
  return answer.rose_pa != null ? words.pressure.rose : words.pressure.verdicts.not_decidable;
}
