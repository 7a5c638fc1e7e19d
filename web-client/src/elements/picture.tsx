import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { PhotoCopy } from "../api/shapes";
import { words } from "../words";

/** A picture of the server's, which only gives it to whoever is signed in; its place is kept while it comes. */
export function Picture({ photo, copy, alt }: { photo: string; copy: PhotoCopy; alt: string }) {
  const [shown, setShown] = useState<string | "absent">();
  useEffect(() => {
    const ending = new AbortController();
    let address: string | undefined;
    void calls.photos.picture(photo, copy.size, ending.signal).then((answer) => {
      if (ending.signal.aborted) return;
      if (answer.kind === "ok") address = URL.createObjectURL(answer.value);
      setShown(address ?? "absent");
    });
    return () => {
      ending.abort();
      if (address !== undefined) URL.revokeObjectURL(address);
    };
  }, [photo, copy.size]);
  if (shown === "absent") return <span class="picture absent">{words.photos.absent}</span>;
  return <img class="picture" width={copy.width_px} height={copy.height_px} alt={alt} {...(shown === undefined ? {} : { src: shown })} />;
}
