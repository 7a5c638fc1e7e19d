/** One reading of the gauge as the server takes it. */
export type TypedReading = { t_s: number; gauge_pa: number; temperature_c?: number };

/**
 * Readings typed one a line: seconds, pressure in Pa and, if it was read, the temperature of the
 * air in °C, with spaces, semicolons or tabs between. A decimal comma is a decimal point. Empty
 * lines are left out; the first line that cannot be read is named, from 1. Whether the readings
 * make a test is for the server to say.
 */
export function readTyped(text: string): { readings: TypedReading[] } | { line: number } {
  const readings: TypedReading[] = [];
  for (const [at, line] of text.split(/\r\n|\n|\r/).entries()) {
    if (line.trim() === "") continue;
    const fields = line.trim().split(/[\s;]+/).filter((field) => field !== "");
    const numbers = fields.map((field) => (/^[+-]?\d+([.,]\d+)?$/.test(field) ? Number(field.replace(",", ".")) : Number.NaN));
    const [t_s, gauge_pa, temperature_c] = numbers;
    if (t_s === undefined || gauge_pa === undefined || numbers.length > 3 || numbers.some(Number.isNaN)) return { line: at + 1 };
    readings.push({ t_s, gauge_pa, ...(temperature_c === undefined ? {} : { temperature_c }) });
  }
  return { readings };
}
