/**
 * Whether a text may be a claim number as somebody types or scans it: five to ten digits, with
 * separators left out and one leading `#` dropped. The check digit is the server's to check.
 */
export function looksLikeClaimNumber(text: string): boolean {
  return /^[1-9]\d{4,9}$/.test(text.trim().replace(/^#/, "").replaceAll(/[\s./_\-\u2010-\u2015]/g, ""));
}
