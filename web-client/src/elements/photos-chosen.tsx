import type { ComponentChildren } from "preact";
import { words } from "../words";
import { PhotoPick } from "./photo-pick";

/** Photos chosen for something that has yet to be made; they are sent once it is. */
export function PhotosChosen({ files, onFiles, children }: { files: readonly File[]; onFiles: (files: File[]) => void; children: ComponentChildren }) {
  return (
    <div class="row">
      <PhotoPick onFiles={(more) => onFiles([...files, ...more])}>{children}</PhotoPick>
      {files.length > 0 && (
        <>
          <span role="status">{words.photos.chosenGo(files.length)}</span>
          <button type="button" class="link" onClick={() => onFiles([])}>{words.photos.takeBack}</button>
        </>
      )}
    </div>
  );
}
