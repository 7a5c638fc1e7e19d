import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import PostalMime from "postal-mime";

export type Letter = { to: string; subject: string; text: string; html: string };

const DEADLINE_MS = 30_000;

/** The letters that left, oldest first. */
export async function letters(data: string): Promise<Letter[]> {
  const folder = join(data, "mailbox", "new");
  const names = await readdir(folder);
  const read = await Promise.all(names.map(async (name) => PostalMime.parse(await readFile(join(folder, name)))));
  return read
    .toSorted((a, b) => (a.date ?? "").localeCompare(b.date ?? ""))
    .map((one) => ({ to: one.to?.[0]?.address ?? "", subject: one.subject ?? "", text: one.text ?? "", html: one.html ?? "" }));
}

/** Waits for the first letter that fits. */
export async function letter(data: string, what: string, fits: (letter: Letter) => boolean): Promise<Letter> {
  const began = Date.now();
  for (;;) {
    const all = await letters(data);
    const found = all.find(fits);
    if (found !== undefined) return found;
    if (Date.now() - began > DEADLINE_MS) {
      throw new Error(`no letter came: ${what}; there are: ${all.map((one) => `${one.to}: ${one.subject}`).join("; ") || "none"}`);
    }
    await new Promise((later) => setTimeout(later, 50));
  }
}

/** The customer's link of a kind in a letter; both its texts must hold the same. */
export function linkIn(letter: Letter, page: "answer" | "status"): string {
  const pattern = new RegExp(`http\\S+/${page}/[\\w-]+`);
  const inText = pattern.exec(letter.text)?.[0];
  const inHtml = pattern.exec(letter.html)?.[0];
  if (inText === undefined || inText !== inHtml) throw new Error(`no ${page} link in “${letter.subject}”: ${inText}, ${inHtml}\n${letter.text}`);
  return inText;
}
