import type { Photo, PhotoEdit } from "../api/shapes";

/**
 * What was changed of a photo, as it is told to the server; the rest stays as it is. A photo of a
 * finding that was struck keeps its place by that: the server would refuse the same place anew.
 */
export function photoEdit(photo: Pick<Photo, "caption" | "finding_id">, said: { caption: string; finding: string }): PhotoEdit {
  const caption = said.caption.trim();
  return {
    ...(caption === (photo.caption ?? "") ? {} : { caption }),
    ...(said.finding === (photo.finding_id ?? "") ? {} : { finding_id: said.finding === "" ? null : said.finding }),
  };
}
