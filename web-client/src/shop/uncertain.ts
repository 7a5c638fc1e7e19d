/**
 * A value with its ±, both to the place of the second significant digit of the ±: 4.8 ± 1.4,
 * 0.0081 ± 0.0024. Without a usable ± the value has three significant digits.
 * Source: common practice in metrology (GUM, 7.2.6), from memory.
 */
export function withUncertainty(value: number, uncertainty: number): { value: string; uncertainty: string } {
  if (!(uncertainty > 0) || !Number.isFinite(uncertainty)) return { value: plain(value), uncertainty: "0" };
  // Rounding may carry: 0.0996 is 0.10, not 0.100.
  const rounded = Number(uncertainty.toPrecision(2));
  const decimals = Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(rounded))));
  return { value: value.toFixed(decimals), uncertainty: rounded.toFixed(decimals) };
}

/** A value alone, to three significant digits, without an exponent. */
export function plain(value: number): string {
  if (value === 0 || !Number.isFinite(value)) return String(value);
  const decimals = Math.min(12, Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value)))));
  return value.toFixed(decimals);
}

/**
 * What is cut or made: two significant digits, rounded up, since too short is waste and the shape
 * is uncertain by about a third anyway: 8.04 is 8.1, 20.5 is 21.
 * Source: common practice, no source.
 */
export function enough(value: number): string {
  if (!(value > 0) || !Number.isFinite(value)) return String(value);
  const place = Math.floor(Math.log10(value)) - 1;
  const unit = 10 ** place;
  // What is two digits already stays so, although it is no binary fraction.
  const units = Math.ceil(Number((value / unit).toPrecision(12)));
  return Math.max(0, units * unit).toFixed(Math.min(12, Math.max(0, -place)));
}
