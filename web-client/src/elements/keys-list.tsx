import { useEffect, useRef } from "preact/hooks";
import { words } from "../words";

/** The list of keys that `?` shows. */
export function KeysList({ onClose }: { onClose: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog class="keys" ref={dialog} onClose={onClose} aria-labelledby="keys-title">
      <h1 id="keys-title">{words.keys.title}</h1>
      <dl>
        {words.keys.list.map(([key, what]) => (
          <>
            <dt><kbd>{key}</kbd></dt>
            <dd>{what}</dd>
          </>
        ))}
      </dl>
      <form method="dialog">
        <button class="btn main">{words.common.close}</button>
      </form>
    </dialog>
  );
}
