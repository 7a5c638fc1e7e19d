import { useRef } from "preact/hooks";
import { words } from "../words";

/** Asks why: one tap on a short reason is enough, own words are possible. */
export function ReasonPicker({ title, reasons, busy, onReason, onLeave }: {
  title: string;
  reasons: readonly string[];
  busy: boolean;
  onReason: (reason: string) => void;
  onLeave: () => void;
}) {
  const own = useRef<HTMLInputElement>(null);
  return (
    <form
      class="reason"
      aria-label={title}
      onSubmit={(event) => {
        event.preventDefault();
        const reason = own.current?.value.trim() ?? "";
        if (reason === "") own.current?.focus();
        else onReason(reason);
      }}
    >
      <p><b>{title}</b></p>
      {reasons.map((reason) => (
        <button key={reason} type="button" class="btn" disabled={busy} onClick={() => onReason(reason)}>{reason}</button>
      ))}
      <div class="row">
        <input class="in" ref={own} aria-label={words.order.ownWords} placeholder={words.order.ownWords} autocomplete="off" />
        <button class="btn main" disabled={busy}>{words.common.save}</button>
      </div>
      <button type="button" class="link" onClick={onLeave}>{words.common.cancel}</button>
    </form>
  );
}
