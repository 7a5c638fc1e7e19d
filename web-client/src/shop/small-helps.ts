import { words } from "../words";
import { enough, plain } from "./uncertain";

type Answer = Record<string, unknown> | null | undefined;

const numberIn = (from: Answer, name: string): number | undefined => {
  const value = from?.[name];
  return typeof value === "number" ? value : undefined;
};
const textIn = (from: Answer, name: string): string => {
  const value = from?.[name];
  return typeof value === "string" ? value : "";
};
const patchOf = (from: Answer): [string, string] | undefined => {
  const [long, wide] = [numberIn(from, "patch_length_mm"), numberIn(from, "patch_width_mm")];
  return long === undefined || wide === undefined ? undefined : [enough(long), enough(wide)];
};

/**
 * The server's sentence with the shop's own name in place of a slug. A filler's slug stands in
 * brackets and in no field of the answer, so each that there is is looked for; a metal's is told.
 */
function fillerSentence(text: string): string {
  const names = Object.entries({ ...words.methods.softSolders, ...words.methods.brazingFillers });
  return names.reduce((said, [slug, name]) => said.replace(`(${slug})`, `(${name})`), text);
}
function platingSentence(plating: Answer): string {
  const [text, metal] = [textIn(plating, "words"), textIn(plating, "metal")];
  if (metal === "" || !text.startsWith(`${metal},`)) return text;
  const name = Object.entries(words.methods.metals).find(([slug]) => slug === metal)?.[1] ?? metal;
  return name.charAt(0).toUpperCase() + name.slice(1) + text.slice(metal.length);
}

/** What to cut, which patch to make, how much to plate: whole sentences, as the server reckoned them. */
export function smallHelps({ filler, plating }: { filler?: Answer; plating?: Answer }): string[] {
  const patch = patchOf(filler);
  const better = filler?.["with_patch"];
  const instead = typeof better === "object" ? (better as Answer) : undefined;
  const [insteadOf, rod] = [patchOf(instead), numberIn(instead, "length_mm")];
  const amperes = numberIn(plating, "current_a");
  return [
    fillerSentence(textIn(filler, "words")),
    patch === undefined ? "" : words.plan.patch(...patch),
    insteadOf === undefined || rod === undefined ? "" : words.plan.patchInstead(...insteadOf, enough(rod)),
    [platingSentence(plating), ...(amperes === undefined ? [] : [words.plan.current(plain(amperes))])].join(" ").trim(),
  ].filter((one) => one !== "");
}
