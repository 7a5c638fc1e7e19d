import { useState } from "preact/hooks";
import type { Photo, PhotoCopy } from "../api/shapes";
import { words } from "../words";
import { PhotoLarge, type Shown } from "./photo-large";
import { Picture } from "./picture";

/** A photo that can be shown: it was not struck. */
type Seen = { id: string; alt: string; small: PhotoCopy; large: PhotoCopy };

/** How a photo of an order is shown; nothing of a struck one. */
export function seen(photo: Photo, finding: string | undefined): Seen[] {
  const small = photo.sizes.find((one) => one.size === "480");
  const large = photo.sizes.find((one) => one.size === "1600");
  const alt = photo.caption || finding || words.photos.untitled;
  return small === undefined || large === undefined ? [] : [{ id: photo.id, alt, small, large }];
}

/** Small pictures in a row, each of which opens in large. */
export function PhotoStrip({ photos }: { photos: readonly Seen[] }) {
  const [at, setAt] = useState<string>();
  if (photos.length === 0) return null;
  const shown: Shown[] = photos.map(({ id, alt, large }) => ({ id, alt, large }));
  return (
    <>
      <ul class="strip-of-photos">
        {photos.map((photo) => (
          <li key={photo.id}>
            <button type="button" class="thumb-photo" onClick={() => setAt(photo.id)}><Picture photo={photo.id} copy={photo.small} alt={photo.alt} /></button>
          </li>
        ))}
      </ul>
      {at !== undefined && <PhotoLarge photos={shown} at={at} onAt={setAt} onClose={() => setAt(undefined)} />}
    </>
  );
}
