/** From values to places on a plot. */
export type Scale = { from: number; to: number; start: number; end: number };

/** Where a value lies: `from` at `start`, `to` at `end`; a scale without width puts all at its start. */
export function place(scale: Scale, value: number): number {
  const share = scale.to === scale.from ? 0 : (value - scale.from) / (scale.to - scale.from);
  return scale.start + share * (scale.end - scale.start);
}

/**
 * Round values from `from` to `to`, about as many as wanted: steps of 1, 2 or 5 times a power of
 * ten. All lie within; there are at least two where the range has any width.
 */
export function ticksOf(from: number, to: number, wanted: number): number[] {
  const range = to - from;
  if (!(range > 0) || !Number.isFinite(range)) return [from];
  const rough = range / Math.max(1, wanted);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((one) => one * power >= rough - 1e-9 * power) ?? 10) * power;
  const decimals = Math.max(0, -Math.floor(Math.log10(step)));
  const ticks: number[] = [];
  for (let at = Math.ceil(from / step - 1e-9); at * step <= to + 1e-9 * step; at += 1) ticks.push(Number((at * step).toFixed(decimals)));
  return ticks.length >= 2 ? ticks : [from, to];
}

/** The range of values widened to the round ticks around it. */
export function roundRange(values: readonly number[], wanted: number): { from: number; to: number } {
  const finite = values.filter(Number.isFinite);
  if (finite.length === 0) return { from: 0, to: 1 };
  const [low, high] = [Math.min(...finite), Math.max(...finite)];
  if (low === high) return { from: low - 1, to: high + 1 };
  const ticks = ticksOf(low, high, wanted);
  const step = (ticks[1] ?? high) - (ticks[0] ?? low);
  return { from: Math.floor(low / step + 1e-9) * step, to: Math.ceil(high / step - 1e-9) * step };
}

/** A line through points as SVG path data. */
export function linePath(points: readonly { x: number; y: number }[]): string {
  return points.map(({ x, y }, at) => `${at === 0 ? "M" : "L"}${round(x)} ${round(y)}`).join("");
}

/** The area between two lines over the same x, as SVG path data. */
export function bandPath(upper: readonly { x: number; y: number }[], lower: readonly { x: number; y: number }[]): string {
  return upper.length === 0 ? "" : `${linePath([...upper, ...lower.toReversed()])}Z`;
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
