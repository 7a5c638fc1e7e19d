import { useRef } from "preact/hooks";
import { Button } from "./button";
import { words } from "../words";

/** Asks why: one tap on a short reason is enough, own words are possible. */
export function ReasonPicker({ title, reasons, busy, nested = false, onReason, onLeave }: {
  title: string;
  reasons: readonly string[];
  busy: boolean;
  /** Within another form: forms do not nest. */
  nested?: boolean;
  onReason: (reason: string) => void;
  onLeave: () => void;
}) {
  const own = useRef<HTMLInputElement>(null);
  const save = () => {
    const reason = own.current?.value.trim() ?? "";
    if (reason === "") own.current?.focus();
    else onReason(reason);
  };
  const inside = (
    <>
      <p><b>{title}</b></p>
      {reasons.map((reason) => (
        <Button key={reason} type="button" class="btn" busy={busy} onClick={() => onReason(reason)}>{reason}</Button>
      ))}
      <div class="row">
        <input class="in" ref={own} aria-label={words.order.ownWords} placeholder={words.order.ownWords} autocomplete="off" onKeyDown={(event) => {
          if (!nested || event.key !== "Enter") return;
          event.preventDefault();
          save();
        }} />
        <Button type={nested ? "button" : "submit"} class="btn main" busy={busy} {...(nested ? { onClick: save } : {})}>{words.common.save}</Button>
      </div>
      <button type="button" class="link" onClick={onLeave}>{words.common.cancel}</button>
    </>
  );
  if (nested) return <div class="reason" role="group" aria-label={title}>{inside}</div>;
  return (
    <form class="reason" aria-label={title} onSubmit={(event) => {
      event.preventDefault();
      save();
    }}>
      {inside}
    </form>
  );
}
