import { words } from "../words";
import { hoursAndMinutes } from "./plan-order";

/** `2 h 42 min`, or `42 min`, wherever minutes of the whole work are told. */
export function durationWords(total: number): string {
  const { hours, minutes } = hoursAndMinutes(total);
  return words.common.hours(hours, minutes);
}
