import { addDays } from "./dates";

/** So many days on, an order that is held is looked at again unless somebody says another day. */
const LOOK_AGAIN_DAYS = 7;

/** The next day on which the shop is open; `undefined` where the days known end before. */
export function nextOpenDay(today: string, openDays: readonly string[]): string | undefined {
  return openDays.find((day) => day > today);
}

/** The day that is proposed for looking again: a week on, or the first open day after that. */
export function lookAgainDay(today: string, openDays: readonly string[]): string {
  const wanted = addDays(today, LOOK_AGAIN_DAYS);
  return openDays.find((day) => day >= wanted) ?? wanted;
}
