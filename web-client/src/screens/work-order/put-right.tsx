import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { WorkOrder, WorkOrderEdit } from "../../api/shapes";
import { Button } from "../../elements/button";
import { amountOf, AreaField, TextField, Tick } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, listFaultAt, useAct } from "../../elements/use-act";
import { useKeys } from "../../elements/use-keys";
import { dayWords } from "../../shop/dates";
import { moneyWords } from "../../shop/money";
import { namesIn, wordsChanged, wordsOf } from "../../shop/put-right";
import { board, iMay, places, shopHere, todayHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

type OverProps = PartProps & { onClose: () => void };

/** What can be put right over the screen. */
export type PutRight = "place" | "date" | "words";

/** The form for what is to be put right. */
export function PutRightForm({ what, ...props }: OverProps & { what: PutRight }) {
  switch (what) {
    case "place": return <PlacePicker {...props} />;
    case "date": return <DateForm {...props} />;
    case "words": return <WordsForm {...props} />;
  }
}

/** One act on the order: what changed meanwhile is shown beside what was typed, which stays. */
function usePutRight({ order, reload, onClose }: OverProps) {
  const act = useAct();
  const edit = (change: WorkOrderEdit) => act.run(() => calls.orders.edit(order.id, change, order.version), async () => {
    onClose();
    await reload();
  });
  return { act, edit, onReload: () => void reload().then(act.clear) };
}

/** Where it hangs now: one key for each of the shop's places. */
function PlacePicker(props: OverProps) {
  const { order, onClose } = props;
  const { act, edit, onReload } = usePutRight(props);
  const [own, setOwn] = useState("");
  const first = useRef<HTMLDivElement>(null);
  useEffect(() => first.current?.querySelector("button")?.focus(), []);
  const known = places.value;
  useKeys(Object.fromEntries(known.slice(0, 9).map((one, at) => [String(at + 1), () => void edit({ place: one.name })])));
  return (
    <form class="form" aria-label={words.putRight.place} onSubmit={(event) => {
      event.preventDefault();
      if (own.trim() !== "") void edit({ place: own });
    }} onKeyDown={(event) => leaveOnEscape(event, onClose)}>
      <p><b>{words.putRight.place}</b> {order.place && <span class="quiet">{words.putRight.placeNow(order.place)}</span>}</p>
      <div class="tickbox" ref={first}>
        {known.map((one, at) => (
          <Button key={one.id} type="button" class="btn" busy={act.busy} onClick={() => void edit({ place: one.name })}>
            {at < 9 && <><kbd aria-hidden="true">{at + 1}</kbd>{" "}</>}{one.name}
          </Button>
        ))}
      </div>
      <TextField label={words.putRight.elsewhere} value={own} fault={faultAt(act.refusal, "/place")} onInput={(event) => setOwn(event.currentTarget.value)} />
      <RefusalNote refusal={act.refusal} onReload={onReload} />
      <Foot busy={act.busy} onClose={onClose} />
    </form>
  );
}

/** Another promised date, told to the customer. */
function DateForm(props: OverProps) {
  const { order, onClose } = props;
  const { act, edit, onReload } = usePutRight(props);
  const [day, setDay] = useState(order.promised_on);
  const [told, setTold] = useState("");
  const [why, setWhy] = useState("");
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.focus(), []);
  const shown = board.value?.board.orders.find((one) => one.id === order.id);
  const asked = faultAt(act.refusal, "/promise_reason");
  // The server asks in any case; where the board knows the dates, it is asked at once.
  const [wanted, setWanted] = useState(false);
  useEffect(() => { if (asked !== undefined) setWanted(true); }, [asked]);
  const asksWhy = wanted || (shown?.ready_p50 != null && day !== order.promised_on && day < shown.ready_p50);
  return (
    <form class="form" aria-label={words.putRight.date} onSubmit={(event) => {
      event.preventDefault();
      void edit({ promised_on: day, ...(told.trim() === "" ? {} : { moved_because: told.trim() }), ...(why.trim() === "" ? {} : { promise_reason: why.trim() }) });
    }} onKeyDown={(event) => leaveOnEscape(event, onClose)}>
      <TextField label={words.putRight.date} type="date" min={todayHere()} required fieldRef={field} value={day}
        {...(shown?.ready_p85 == null ? {} : { help: words.putRight.ready(dayWords(shown.ready_p85)) })}
        fault={faultAt(act.refusal, "/promised_on")} onInput={(event) => setDay(event.currentTarget.value)} />
      <TextField label={words.putRight.told} help={words.putRight.toldHelp(order.customer.name, order.customer.mail_wanted, Boolean(order.customer.email))} value={told}
        fault={faultAt(act.refusal, "/moved_because")} onInput={(event) => setTold(event.currentTarget.value)} />
      <div class="tickbox">
        {words.putRight.toldReasons.map((reason) => (
          <button key={reason} type="button" class="btn" aria-pressed={told === reason} onClick={() => setTold(reason)}>{reason}</button>
        ))}
      </div>
      {asksWhy && (
        <>
          <TextField label={words.checkIn.promiseReason} help={words.putRight.whyHelp} value={why} fault={asked === undefined ? undefined : words.checkIn.needs.reason} onInput={(event) => setWhy(event.currentTarget.value)} />
          <div class="tickbox">
            {words.checkIn.promiseReasons.map((reason) => (
              <button key={reason} type="button" class="btn" aria-pressed={why === reason} onClick={() => setWhy(reason)}>{reason}</button>
            ))}
          </div>
        </>
      )}
      <RefusalNote refusal={act.refusal} onReload={onReload} />
      <Foot busy={act.busy} onClose={onClose} label={words.putRight.move} />
    </form>
  );
}

/** What was written at the counter, as it should have been. */
function WordsForm(props: OverProps) {
  const { order, onClose } = props;
  const { act, edit, onReload } = usePutRight(props);
  const [typed, setTyped] = useState(() => wordsOf(order));
  // What was changed is told by the order as it was then: it is fetched again while the form is open,
  // and what somebody else wrote meanwhile was not changed here.
  const [was] = useState(order);
  const [wrong, setWrong] = useState(false);
  const first = useRef<HTMLTextAreaElement>(null);
  useEffect(() => first.current?.focus(), []);
  const text = (name: "complaint" | "condition_note" | "keep_as_is" | "accessories" | "loaner_number" | "examination_fee") => ({
    value: typed[name],
    onInput: (event: { currentTarget: HTMLInputElement | HTMLTextAreaElement }) => setTyped({ ...typed, [name]: event.currentTarget.value }),
  });
  async function save() {
    const fee = typed.examination_fee.trim() === "" ? null : amountOf(typed.examination_fee);
    setWrong(fee === undefined);
    if (fee === undefined) return;
    const change = wordsChanged(was, typed, fee);
    if (Object.keys(change).length === 0) onClose();
    else await edit(change);
  }
  return (
    <form class="form" aria-label={words.putRight.words} onSubmit={(event) => {
      event.preventDefault();
      void save();
    }} onKeyDown={(event) => leaveOnEscape(event, onClose)}>
      <p><b>{words.putRight.words}</b></p>
      <AreaField label={words.order.complaint} fieldRef={first} {...text("complaint")} fault={faultAt(act.refusal, "/complaint")} />
      <AreaField label={words.fields["condition_note"] ?? ""} {...text("condition_note")} fault={faultAt(act.refusal, "/condition_note")} />
      <TextField label={words.order.keep} {...text("keep_as_is")} fault={faultAt(act.refusal, "/keep_as_is")} />
      <AreaField label={words.order.cameWith} help={words.putRight.eachLine} rows={Math.max(2, namesIn(typed.accessories).length)} {...text("accessories")} fault={listFaultAt(act.refusal, "/accessories")} />
      <div class="cols">
        <TextField label={words.putRight.loaner} {...text("loaner_number")} fault={faultAt(act.refusal, "/loaner_number")} />
        {order.examination_fee && (
          <TextField label={words.order.examinationFee} help={words.putRight.fee(moneyWords(order.examination_fee))} class="num" inputMode="decimal" {...text("examination_fee")}
            fault={wrong ? words.checkIn.noAmount(shopHere().currency) : listFaultAt(act.refusal, "/examination_fee")} />
        )}
      </div>
      <Tick label={words.putRight.oldParts} checked={typed.old_parts_back} onInput={(event) => setTyped({ ...typed, old_parts_back: event.currentTarget.checked })} />
      <RefusalNote refusal={act.refusal} onReload={onReload} />
      <Foot busy={act.busy} onClose={onClose} />
    </form>
  );
}

function Foot({ busy, onClose, label = words.common.save }: { busy: boolean; onClose: () => void; label?: string }) {
  return (
    <div class="foot">
      <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
      <Button class="btn main" busy={busy}>{label}</Button>
    </div>
  );
}

/** Escape closes the form, and does not leave the screen. */
function leaveOnEscape(event: KeyboardEvent, onClose: () => void) {
  if (event.key !== "Escape") return;
  event.preventDefault();
  event.stopPropagation();
  onClose();
}

/** The buttons that open the forms, where the order is still open and it is one's own to say. */
export function PutRightButtons({ order, onOpen }: { order: WorkOrder; onOpen: (what: PutRight) => void }) {
  if (order.stage === "closed") return null;
  return (
    <p class="row">
      <button type="button" class="link" onClick={() => onOpen("place")}>{words.putRight.open.place} <kbd aria-hidden="true">P</kbd></button>
      {order.stage !== "pickup" && iMay("front_desk") && <button type="button" class="link" onClick={() => onOpen("date")}>{words.putRight.open.date} <kbd aria-hidden="true">D</kbd></button>}
      {iMay("front_desk") && <button type="button" class="link" onClick={() => onOpen("words")}>{words.putRight.open.words}</button>}
    </p>
  );
}
