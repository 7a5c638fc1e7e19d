import { columnOf, type Column } from "./scale";
import { addDays } from "./dates";

/** Where the felt ends on one rail: the middle of the rail in px from the top, and the column, with its fraction. */
export type Reach = { y: number; x: number };

/**
 * Where so many working days from today lie on the scale, in columns from the left; today's own
 * column begins at 1. Within a week the days share its column; beyond the scale it is its end.
 *
 * `openDays`: the shop's open dates from today on. Where they end, weeks of five days go on.
 */
export function placeOfDays(columns: readonly Column[], today: string, openDays: readonly string[], days: number): number {
  const whole = Math.floor(Math.max(0, days));
  const at = (count: number) => placeOfDay(columns, dayAfter(today, openDays, count), openDays);
  const from = at(whole);
  return Math.min(columns.length, from + (at(whole + 1) - from) * (days - whole));
}

/** The open day so many open days after today; today itself is the first even where it is closed. */
function dayAfter(today: string, openDays: readonly string[], count: number): string {
  const days = [today, ...openDays.filter((day) => day > today)];
  const known = days[count];
  if (known !== undefined) return known;
  let day = days.at(-1) ?? today;
  for (let left = count - days.length + 1; left > 0; ) {
    day = addDays(day, 1);
    if (![0, 6].includes(new Date(`${day}T00:00:00Z`).getUTCDay())) left -= 1;
  }
  return day;
}

function placeOfDay(columns: readonly Column[], day: string, openDays: readonly string[]): number {
  const at = columnOf(columns, day);
  const column = columns[at];
  if (column === undefined || column.kind !== "week") return column?.kind === "beyond" && day > column.from ? columns.length : at;
  const inWeek = openDays.filter((one) => one >= column.from && one <= column.to);
  const days = inWeek.length > 0 ? inWeek : [0, 1, 2, 3, 4].map((after) => addDays(column.from, after));
  const before = days.filter((one) => one < day).length;
  return at + before / days.length;
}

/**
 * The edge of the felt through the rails' reaches, and the felt itself, as SVG path data.
 *
 * The edge passes each rail's middle at its reach and never swings out between two rails
 * (monotone cubic, Fritsch and Carlson 1980, with y as the variable). Above the first and below the
 * last rail's middle it goes on as it came, but not to the left of today.
 */
export function bellOf(reaches: readonly Reach[], height: number): { felt: string; edge: string } | undefined {
  if (reaches.length < 2) return undefined;
  const slopes = slopesOf(reaches);
  const first = reaches[0];
  const last = reaches.at(-1);
  if (first === undefined || last === undefined) return undefined;
  const top = { y: 0, x: Math.max(1, first.x - (slopes[0] ?? 0) * first.y) };
  const end = { y: height, x: Math.max(1, last.x + (slopes.at(-1) ?? 0) * (height - last.y)) };
  const pieces = reaches.slice(1).map((to, i) => {
    const from = reaches[i] ?? to;
    const third = (to.y - from.y) / 3;
    return `C${n(from.x + (slopes[i] ?? 0) * third)} ${n(from.y + third)} ${n(to.x - (slopes[i + 1] ?? 0) * third)} ${n(to.y - third)} ${n(to.x)} ${n(to.y)}`;
  });
  const edge = `M${n(top.x)} 0L${n(first.x)} ${n(first.y)}${pieces.join("")}L${n(end.x)} ${n(height)}`;
  return { edge, felt: `${edge}H1V0Z` };
}

/** How x changes with y at each point, so that between two points it stays between their values. */
function slopesOf(points: readonly Reach[]): number[] {
  const steps = points.slice(1).map((to, i) => {
    const from = points[i] ?? to;
    return to.y === from.y ? 0 : (to.x - from.x) / (to.y - from.y);
  });
  return points.map((_, i) => {
    const [before, after] = [steps[i - 1], steps[i]];
    if (before === undefined || after === undefined) return before ?? after ?? 0;
    if (before * after <= 0) return 0;
    // The harmonic mean never exceeds three times the lesser step, which is the condition.
    return (2 * before * after) / (before + after);
  });
}

function n(value: number): string {
  return String(Math.round(value * 100) / 100);
}
