/** A point of the sheet that a map is drawn on. */
export type Point = { x: number; y: number };
type Corner = Point & { bend?: number };

/** How far apart the samples of a bend lie, units of the sheet; as the server draws it. */
const STEP = 3;

const less = (a: Point, b: Point): Point => ({ x: a.x - b.x, y: a.y - b.y });
const length = (a: Point) => Math.hypot(a.x, a.y);

/**
 * The middle line of a part, its corners rounded as the server rounds them (`maps/line.rs`): a place
 * read off the drawing and the pin drawn from it must lie on each other.
 */
export function lineThrough(corners: readonly Corner[]): Point[] {
  return corners.flatMap((corner, at) => {
    const [before, after] = [corners[at - 1], corners[at + 1]];
    if (before === undefined || after === undefined || !corner.bend || corner.bend <= 0) return [{ x: corner.x, y: corner.y }];
    return bend(before, corner, after, at === 1, at + 2 === corners.length);
  });
}

function bend(before: Point, corner: Corner, after: Point, first: boolean, last: boolean): Point[] {
  const here = { x: corner.x, y: corner.y };
  const [towards, away] = [less(before, here), less(after, here)];
  const [near, far] = [length(towards), length(away)];
  if (near < 1e-9 || far < 1e-9) return [here];
  const [to, from] = [{ x: towards.x / near, y: towards.y / near }, { x: away.x / far, y: away.y / far }];
  const half = Math.acos(Math.min(1, Math.max(-1, to.x * from.x + to.y * from.y))) / 2;
  if (half < 1e-3 || half > Math.PI / 2 - 1e-3) return [here];
  const reach = Math.min((corner.bend ?? 0) / Math.tan(half), first ? near : near / 2, last ? far : far / 2);
  const radius = reach * Math.tan(half);
  const sum = { x: to.x + from.x, y: to.y + from.y };
  const middle = length(sum) / (radius / Math.sin(half));
  const centre = { x: here.x + sum.x / middle, y: here.y + sum.y / middle };
  const angle = (p: Point) => Math.atan2(p.y - centre.y, p.x - centre.x);
  const begin = angle({ x: here.x + to.x * reach, y: here.y + to.y * reach });
  let sweep = angle({ x: here.x + from.x * reach, y: here.y + from.y * reach }) - begin;
  if (sweep > Math.PI) sweep -= 2 * Math.PI;
  else if (sweep < -Math.PI) sweep += 2 * Math.PI;
  const steps = Math.min(400, Math.max(4, Math.ceil((Math.abs(sweep) * radius) / STEP)));
  return Array.from({ length: steps + 1 }, (_, step) => {
    const turned = begin + (sweep * step) / steps;
    return { x: centre.x + radius * Math.cos(turned), y: centre.y + radius * Math.sin(turned) };
  });
}

/** The share of a line, 0 to 1, whose point lies nearest to this one. */
export function shareAlong(line: readonly Point[], point: Point): number {
  let [run, best, nearest] = [0, 0, Number.POSITIVE_INFINITY];
  for (const [at, a] of line.entries()) {
    const b = line[at + 1];
    if (b === undefined) break;
    const [step, aside] = [less(b, a), less(point, a)];
    const long = length(step);
    if (long === 0) continue;
    const part = Math.min(1, Math.max(0, (aside.x * step.x + aside.y * step.y) / long ** 2));
    const away = length(less(point, { x: a.x + part * step.x, y: a.y + part * step.y }));
    if (away < nearest) [nearest, best] = [away, run + part * long];
    run += long;
  }
  return run === 0 ? 0 : best / run;
}

/** The point at this share of a line, 0 to 1; `undefined` for a line of no point. */
export function pointAlong(line: readonly Point[], share: number): Point | undefined {
  const whole = line.slice(1).reduce((sum, b, at) => sum + length(less(b, line[at] ?? b)), 0);
  let left = Math.min(1, Math.max(0, share)) * whole;
  for (const [at, a] of line.entries()) {
    const b = line[at + 1];
    if (b === undefined) return a;
    const long = length(less(b, a));
    if (left <= long && long > 0) return { x: a.x + ((b.x - a.x) * left) / long, y: a.y + ((b.y - a.y) * left) / long };
    left -= long;
  }
  return undefined;
}

/** A part as far as a place on it is reckoned. */
type Placed = { length: { mm: number }; layout?: { line: Corner[] } | null };

/** Where a point of the sheet lies along a part, in whole mm; `undefined` for a part that has no line of its own. */
export function millimetresAt(part: Placed, point: Point): number | undefined {
  const line = part.layout == null ? [] : lineThrough(part.layout.line);
  return line.length < 2 ? undefined : Math.round(shareAlong(line, point) * part.length.mm);
}

/** Where a place along a part, in mm, lies on the sheet. */
export function pointAt(part: Placed, mm: number): Point | undefined {
  return part.layout == null || part.length.mm <= 0 ? undefined : pointAlong(lineThrough(part.layout.line), mm / part.length.mm);
}

/** A side of a part as it lies in the drawing. */
export type Side = "top" | "bottom" | "left" | "right";

/** Off the middle by so much of the half width it is a side that was pointed at. */
const OFF = 0.3;

/** The outside diameter of a part at a place, straight between what is known; mm. */
function diameterAt(stations: readonly { at_mm: number; outside_diameter: { mm: number } }[], mm: number): number {
  const next = stations.findIndex((one) => one.at_mm >= mm);
  const [a, b] = [stations[next - 1], stations[next]];
  if (b === undefined) return stations.at(-1)?.outside_diameter.mm ?? 0;
  if (a === undefined) return b.outside_diameter.mm;
  const share = (mm - a.at_mm) / Math.max(b.at_mm - a.at_mm, 1e-9);
  return a.outside_diameter.mm + share * (b.outside_diameter.mm - a.outside_diameter.mm);
}

/** The side of a part that a point of the sheet lies on; `undefined` on its middle, or for a part without a line of its own. */
export function sideAt(part: Placed & { diameters: readonly { at_mm: number; outside_diameter: { mm: number } }[] }, point: Point, unitsPerMm: number): Side | undefined {
  const line = part.layout == null ? [] : lineThrough(part.layout.line);
  if (line.length < 2) return undefined;
  const share = shareAlong(line, point);
  const middle = pointAlong(line, share);
  if (middle === undefined) return undefined;
  const off = less(point, middle);
  const half = (diameterAt(part.diameters, share * part.length.mm) * unitsPerMm) / 2;
  if (length(off) < Math.max(1, OFF * half)) return undefined;
  if (Math.abs(off.x) > Math.abs(off.y)) return off.x < 0 ? "left" : "right";
  return off.y < 0 ? "top" : "bottom";
}
