/**
 * A number as a telephone takes it: `+351 (0)555 10-20` is written for people. A zero in brackets is
 * dialled only without the country, so it goes where the country is told.
 */
export function dialled(phone: string): string {
  const whole = phone.trim().startsWith("+") ? phone.replace(/\(\s*0\s*\)/g, "") : phone;
  return whole.replaceAll(/[^\d+]/g, "");
}
