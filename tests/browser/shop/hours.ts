/** The shop of the tests keeps the hours every new shop begins with, in this zone. */
export const ZONE = "Europe/Lisbon";

/** Seconds from now to the next Wednesday at ten in the shop's zone: open, with days before and after. */
export function toWednesdayAtTen(): number {
  const now = new Date();
  for (let hours = 0; ; hours += 1) {
    const then = new Date(now.getTime() + hours * 3_600_000);
    const said = new Intl.DateTimeFormat("en-GB", { timeZone: ZONE, weekday: "short", hour: "2-digit", hourCycle: "h23" }).formatToParts(then);
    const part = (type: string) => said.find((one) => one.type === type)?.value;
    if (part("weekday") === "Wed" && part("hour") === "10") return hours * 3600;
  }
}

/** A date so many working days after the shop's today, `YYYY-MM-DD`. */
export function workingDay(moved: number, after: number): string {
  const day = new Date(Date.now() + moved * 1000);
  const step = after < 0 ? -1 : 1;
  for (let left = Math.abs(after); left > 0; ) {
    day.setUTCDate(day.getUTCDate() + step);
    if (day.getUTCDay() !== 0 && day.getUTCDay() !== 6) left -= 1;
  }
  return day.toISOString().slice(0, 10);
}
