import type { ComponentChildren } from "preact";

/** What the server keeps; a phone that takes others makes a JPEG of them for this list. */
const KINDS = "image/jpeg,image/png";

/** A button that takes a photo, or several; with `camera`, where there is one, it opens at once. */
export function PhotoPick({ class: kind = "btn", camera = false, onFiles, children }: {
  class?: string;
  camera?: boolean;
  onFiles: (files: File[]) => void;
  children: ComponentChildren;
}) {
  return (
    <label class={`${kind} file`}>
      {children}
      <input
        type="file"
        accept={KINDS}
        multiple
        {...(camera ? { capture: "environment" as const } : {})}
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          // The same picture may be chosen once more.
          event.currentTarget.value = "";
          if (files.length > 0) onFiles(files);
        }}
      />
    </label>
  );
}
