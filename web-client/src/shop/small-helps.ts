import { words } from "../words";
import { plain } from "./uncertain";

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
  return long === undefined || wide === undefined ? undefined : [plain(long), plain(wide)];
};

/** Filler and metals by the names the shop knows them by, in place of the server's slugs. */
function named(text: string): string {
  const names: Record<string, string> = { ...words.methods.softSolders, ...words.methods.brazingFillers, ...words.methods.metals };
  const said = text.replaceAll(/\b[a-z0-9]+(?:_[a-z0-9]+)+\b|\bsac305\b|\bsn\d+pb\d+\b/g, (slug) => (Object.hasOwn(names, slug) ? names[slug] ?? slug : slug));
  return said.charAt(0).toUpperCase() + said.slice(1);
}

/** What to cut, which patch to make, how much to plate: whole sentences, as the server reckoned them. */
export function smallHelps({ filler, plating }: { filler?: Answer; plating?: Answer }): string[] {
  const patch = patchOf(filler);
  const better = filler?.["with_patch"];
  const instead = typeof better === "object" ? (better as Answer) : undefined;
  const [insteadOf, rod] = [patchOf(instead), numberIn(instead, "length_mm")];
  const amperes = numberIn(plating, "current_a");
  return [
    named(textIn(filler, "words")),
    patch === undefined ? "" : words.plan.patch(...patch),
    insteadOf === undefined || rod === undefined ? "" : words.plan.patchInstead(...insteadOf, plain(rod)),
    [named(textIn(plating, "words")), ...(amperes === undefined ? [] : [words.plan.current(plain(amperes))])].join(" ").trim(),
  ].filter((one) => one !== "");
}
