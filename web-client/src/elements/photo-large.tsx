import { useEffect, useRef } from "preact/hooks";
import type { PhotoCopy } from "../api/shapes";
import { words } from "../words";
import { Picture } from "./picture";

/** What can be looked at in large. */
export type Shown = { id: string; alt: string; large: PhotoCopy };

/** One photo in large; arrows go to the one before and after, Esc closes. */
export function PhotoLarge({ photos, at, onAt, onClose }: { photos: readonly Shown[]; at: string; onAt: (id: string) => void; onClose: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const place = photos.findIndex((one) => one.id === at);
  const photo = photos[place];
  const go = (step: number) => {
    const next = photos[place + step];
    if (next !== undefined) onAt(next.id);
  };
  return (
    <dialog class="photo-large" ref={dialog} onClose={onClose} aria-label={words.photos.large} onKeyDown={(event) => {
      if (event.key === "ArrowLeft") go(-1);
      if (event.key === "ArrowRight") go(1);
    }}>
      {photo !== undefined && (
        <figure>
          <Picture key={photo.id} photo={photo.id} copy={photo.large} alt={photo.alt} />
          <figcaption>{photo.alt} <span class="quiet">{words.photos.ofAll(place + 1, photos.length)}</span></figcaption>
        </figure>
      )}
      <form method="dialog" class="row">
        <button type="button" class="btn" disabled={place <= 0} onClick={() => go(-1)}>{words.photos.before}</button>
        <button type="button" class="btn" disabled={place < 0 || place >= photos.length - 1} onClick={() => go(1)}>{words.photos.after}</button>
        <button class="btn main">{words.common.close}</button>
      </form>
    </dialog>
  );
}
