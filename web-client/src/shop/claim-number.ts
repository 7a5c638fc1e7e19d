/** The digits of a claim number as somebody types or scans it: separators and one leading `#` left out. */
function bareDigits(text: string): string {
  return text.trim().replace(/^#/, "").replaceAll(/[\s./_\-\u2010-\u2015]/g, "");
}

/**
 * Whether a text may be a claim number as somebody types or scans it: five to ten digits without a
 * leading zero. Serial and telephone numbers may look the same.
 */
export function looksLikeClaimNumber(text: string): boolean {
  return /^[1-9]\d{4,9}$/.test(bareDigits(text));
}

/** The table of the check digit (Damm, 2004), as in the server's `claim_number.rs`. */
const DAMM = ["0317598642", "7092154863", "4206871359", "1750983426", "6123045978", "3674209581", "5869720134", "8945362017", "9438617205", "2581436790"];

/** Whether the last digit fits the others. One wrong digit, or two neighbours swapped, never fits. */
export function checkDigitFits(text: string): boolean {
  return checks(bareDigits(text));
}

function checks(digits: string): boolean {
  let interim = 0;
  for (const digit of digits) interim = Number(DAMM[interim]?.[Number(digit)]);
  return interim === 0;
}

/** How a claim number is written: `1843-8`. */
export function writtenClaimNumber(text: string): string {
  const digits = bareDigits(text);
  return `${digits.slice(0, -1)}-${digits.slice(-1)}`;
}

/**
 * The claim numbers from which a number with a slip is one slip away, the likelier slip first: two
 * neighbours swapped, then one wrong digit. None where the check digit fits or it is no such number.
 */
export function oneSlipAway(text: string): string[] {
  const digits = bareDigits(text);
  if (!looksLikeClaimNumber(text) || checks(digits)) return [];
  const put = (at: number, by: string) => digits.slice(0, at) + by + digits.slice(at + by.length);
  const swapped = [...digits.slice(1)].map((right, at) => put(at, `${right}${digits.charAt(at)}`));
  const wrong = [...digits].flatMap((_, at) => [..."0123456789"].map((digit) => put(at, digit)));
  const near = [...swapped, ...wrong].filter((one) => one !== digits && looksLikeClaimNumber(one) && checks(one));
  return [...new Set(near)].map(writtenClaimNumber);
}
