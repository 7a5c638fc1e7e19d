import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { InstrumentHistory, Link, Money, Payment, PaymentHow, PaymentKind } from "../../api/shapes";
import { Button } from "../../elements/button";
import { amountIn, isOneOf, Options, SelectField, TextField, textIn } from "../../elements/form";
import { PhotoStrip } from "../../elements/photo-strip";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, useAct, type Refusal } from "../../elements/use-act";
import { useReadAnew } from "../../elements/use-read-anew";
import { dayWords, momentWords, monthWords } from "../../shop/dates";
import { moneyWords, moreThan } from "../../shop/money";
import { iMay, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

/** Every move of the order, its notes, links, payments and holds, and earlier visits. */
export function HistoryPart({ order, reload }: PartProps) {
  const when = (instant: string) => momentWords(instant, shopHere().time_zone, new Date());
  return (
    <>
      <section>
        <h2>{words.historyTab.changes}</h2>
        <ol class="entries">
          {order.stage_changes.map((change) => (
            <li key={change.id}>
              <span class="grow"><b>{words.stages[change.to]}</b>: {change.words}{change.reason ? <> <q>{change.reason}</q></> : ""}</span>
              <span class="quiet">{words.historyTab.by(change.by, when(change.at))}</span>
            </li>
          ))}
        </ol>
      </section>
      {order.changes.length > 0 && (
        <section>
          <h2>{words.putRight.history}</h2>
          <ol class="entries">
            {order.changes.map((change) => (
              <li key={change.id}>
                <span class="grow">
                  {change.changes.map((one) => <div key={one.field}>{words.putRight.change(words.fields[one.field] ?? one.field, valueWords(one.field, one.before), valueWords(one.field, one.after))}</div>)}
                  {change.reason && <q>{change.reason}</q>}
                </span>
                <span class="quiet">{words.historyTab.by(change.by, when(change.at))}</span>
              </li>
            ))}
          </ol>
        </section>
      )}
      <section>
        <h2>{words.historyTab.notes}</h2>
        {order.notes.length === 0 && <p class="quiet">{words.historyTab.noNotes}</p>}
        <ol class="entries">
          {order.notes.map((note) => <li key={note.id}><span class="grow">{note.text}</span><span class="quiet">{words.historyTab.by(note.by.name, when(note.at))}</span></li>)}
        </ol>
      </section>
      <Links order={order} reload={reload} />
      <Payments order={order} reload={reload} />
      {order.holds.length > 0 && (
        <section>
          <h2>{words.historyTab.holds}</h2>
          <ol class="entries">
            {order.holds.map((hold) => (
              <li key={hold.id}>
                <span class="grow">{words.order.held(words.holdReasons[hold.reason], when(hold.set_at))}{hold.note ? ` · ${hold.note}` : ""}</span>
                {hold.lifted_at && <span class="quiet">{words.historyTab.lifted(when(hold.lifted_at))}</span>}
              </li>
            ))}
          </ol>
        </section>
      )}
      <Visits instrument={order.instrument.id} here={order.id} />
    </>
  );
}

/** A value that was put right, in words. */
function valueWords(field: string, value: string | null | undefined): string {
  if (value == null) return words.common.none;
  return field === "promised_on" ? dayWords(value) : value;
}

function Links({ order, reload }: PartProps) {
  const act = useAct();
  const [fresh, setFresh] = useState<Link>();
  const when = (instant: string) => momentWords(instant, shopHere().time_zone, new Date());
  const issue = (purpose: Link["purpose"]) => act.run((once) => calls.orders.issueLink(order.id, purpose, once), async (link) => {
    setFresh(link);
    await reload();
  });
  // Every letter brings a link of its own; what matters first is the last of each kind.
  const newest = order.links.toSorted((a, b) => (a.issued_at < b.issued_at ? 1 : -1));
  const latest = newest.filter((link, at) => newest.findIndex((one) => one.purpose === link.purpose) === at);
  const earlier = newest.filter((link) => !latest.includes(link));
  const line = (link: Link) => (
    <li key={link.id}>
      <span class="grow">{words.historyTab.purposes[link.purpose]} · <span class="quiet">{words.historyTab.issued(when(link.issued_at))}{link.expires_at ? ` · ${words.historyTab.expires(when(link.expires_at))}` : ""}{link.withdrawn_at ? ` · ${words.historyTab.withdrawn(when(link.withdrawn_at))}` : ""}</span></span>
      {!link.withdrawn_at && <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.links.withdraw(link.id, link.order_version), async () => {
        if (fresh?.id === link.id) setFresh(undefined);
        await reload();
      })}>{words.historyTab.withdraw}</Button>}
    </li>
  );
  return (
    <section>
      <h2>{words.historyTab.links}</h2>
      {order.links.length === 0 && <p class="quiet">{words.historyTab.noLinks}</p>}
      <ol class="entries">
        {latest.map(line)}
      </ol>
      {earlier.length > 0 && (
        <details>
          <summary>{words.historyTab.earlierLinks(earlier.length)}</summary>
          <ol class="entries">{earlier.map(line)}</ol>
        </details>
      )}
      {fresh?.url && <FreshAddress url={fresh.url} onSeen={() => setFresh(undefined)} />}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      <div class="row">
        <Button type="button" class="btn" busy={act.busy} onClick={() => void issue("status")}>{words.historyTab.issue.status}</Button>
        {order.quotes.some((quote) => quote.state === "sent") && <Button type="button" class="btn" busy={act.busy} onClick={() => void issue("answer")}>{words.historyTab.issue.answer}</Button>}
      </div>
    </section>
  );
}

/** The address of a link just issued: the server keeps no secret and cannot show it again. */
function FreshAddress({ url, onSeen }: { url: string; onSeen: () => void }) {
  const [copied, setCopied] = useState<boolean>();
  const copy = () => {
    // Browsers offer the clipboard on safe addresses only.
    const clipboard: Clipboard | undefined = navigator.clipboard;
    if (clipboard === undefined) setCopied(false);
    else clipboard.writeText(url).then(() => setCopied(true), () => setCopied(false));
  };
  return (
    <div class="reason" role="status">
      <p><b>{words.historyTab.copy}</b></p>
      <p class="address">{url}</p>
      <div class="row">
        <button type="button" class="btn main" onClick={copy}>{words.historyTab.copyIt}</button>
        <button type="button" class="link" onClick={onSeen}>{words.historyTab.copySeen}</button>
        {copied !== undefined && <span>{copied ? words.historyTab.copied : words.historyTab.copyFailed}</span>}
      </div>
    </div>
  );
}

function Payments({ order, reload }: PartProps) {
  const act = useAct();
  const [open, setOpen] = useState<"take" | "back">();
  const [wrong, setWrong] = useState(false);
  const [unsaid, setUnsaid] = useState(false);
  // What it would be more than is due, until that is said to be meant.
  const [over, setOver] = useState<Money>();
  const here = useRef<HTMLFormElement>(null);
  /** What was wrong with one payment says nothing of the next. */
  function turnTo(next: typeof open) {
    act.clear();
    setWrong(false);
    setUnsaid(false);
    setOver(undefined);
    setOpen(next);
  }
  const when = (instant: string) => momentWords(instant, shopHere().time_zone, new Date());
  async function save(form: HTMLFormElement, sure: boolean) {
    const [amount, kind, note] = [amountIn(form, "amount"), textIn(form, "kind"), textIn(form, "note")];
    // What is charged to the account is paid by the account, and nothing else is.
    const how = kind === "account" ? "account" : textIn(form, "how");
    setWrong(!amount);
    const back = open === "back";
    setUnsaid(back && note === "");
    if (!amount || (back && note === "") || !isOneOf<PaymentKind>(words.paymentKinds, kind) || !isOneOf<PaymentHow>(words.paymentHow, how)) return;
    // A deposit is paid before anything is due.
    const more = kind === "deposit" || back || sure ? undefined : moreThan(amount, order.money.due);
    setOver(more);
    if (more !== undefined) return;
    const counted = back ? { ...amount, amount: `-${amount.amount}` } : amount;
    await act.run((once) => calls.orders.pay(order.id, { amount: counted, kind, how, ...(note === "" ? {} : { note }), ...(sure ? { more_than_due: true } : {}) }, once), async () => {
      setOpen(undefined);
      await reload();
    });
  }
  return (
    <section>
      <h2>{words.historyTab.payments}</h2>
      {order.payments.length === 0 && <p class="quiet">{words.historyTab.noPayments}</p>}
      <ol class="entries">
        {order.payments.map((payment) => (
          <PaymentLine key={payment.id} payment={payment} when={when} reload={reload} />
        ))}
      </ol>
      {open ? (
        <form class="form" aria-label={open === "back" ? words.historyTab.giveBack : words.historyTab.take} ref={here} onInput={() => setOver(undefined)} onSubmit={(event) => {
          event.preventDefault();
          void save(event.currentTarget, false);
        }}>
          <div class="cols">
            <TextField label={open === "back" ? words.historyTab.givenBack : words.handover.paid} name="amount" inputMode="decimal" class="num" fault={wrong ? words.checkIn.noAmount(shopHere().currency) : faultAt(act.refusal, "/amount/amount")} />
            <SelectField label={words.checkIn.kind} name="kind">
              {Object.entries(words.paymentKinds).filter(([kind]) => open === "take" || kind !== "account").map(([kind, label]) => <option key={kind} value={kind}>{label}</option>)}
            </SelectField>
            <SelectField label={words.handover.payHow} name="how"><Options of={words.paidHow} /></SelectField>
          </div>
          <TextField label={open === "back" ? words.historyTab.giveBackWhy : words.order.note} name="note" fault={unsaid ? words.historyTab.giveBackMissing : faultAt(act.refusal, "/note")} />
          <RefusalNote refusal={act.refusal} />
          {over !== undefined && (
            <div class="reason" role="alert">
              <p><b>{words.handover.over(moneyWords(over))}</b></p>
              <Button type="button" class="btn main" busy={act.busy} onClick={() => { if (here.current !== null) void save(here.current, true); }}>{words.historyTab.overYes}</Button>
            </div>
          )}
          <div class="foot">
            <button type="button" class="btn" onClick={() => turnTo(undefined)}>{words.common.cancel}</button>
            <Button class="btn main" busy={act.busy}>{open === "back" ? words.historyTab.giveBack : words.historyTab.take}</Button>
          </div>
        </form>
      ) : (
        <div class="row">
          <button type="button" class="btn" onClick={() => turnTo("take")}>{words.historyTab.take}</button>
          {order.payments.some((one) => !one.struck_reason) && <button type="button" class="btn" onClick={() => turnTo("back")}>{words.historyTab.giveBack}</button>}
        </div>
      )}
    </section>
  );
}

/** One payment; one that was recorded by mistake is struck with a reason and stays to be seen. */
function PaymentLine({ payment, when, reload }: { payment: Payment; when: (instant: string) => string; reload: () => Promise<void> }) {
  const act = useAct();
  const [asking, setAsking] = useState(false);
  const said = `${words.historyTab.payment(moneyWords(payment.amount), words.paymentKinds[payment.kind], words.paymentHow[payment.how].toLowerCase())}${payment.note ? ` · ${payment.note}` : ""}`;
  return (
    <li>
      <span class="grow">
        {payment.struck_reason ? <><s>{said}</s> <span class="quiet">{words.historyTab.struck(payment.struck_reason, payment.struck_by?.name ?? "", payment.struck_at ? when(payment.struck_at) : "")}</span></> : said}
      </span>
      <span class="quiet">{words.historyTab.by(payment.by.name, when(payment.at))}</span>
      {!payment.struck_reason && !asking && iMay("front_desk") && <button type="button" class="link" onClick={() => setAsking(true)}>{words.historyTab.strike}</button>}
      {asking && !payment.struck_reason && (
        <ReasonPicker title={words.historyTab.strikeWhy} reasons={words.historyTab.strikeReasons} busy={act.busy} onLeave={() => setAsking(false)}
          onReason={(reason) => void act.run((once) => calls.payments.strike(payment.id, reason, once), async () => {
            setAsking(false);
            await reload();
          })} />
      )}
      <RefusalNote refusal={act.refusal} />
    </li>
  );
}

function Visits({ instrument, here }: { instrument: string; here: string }) {
  const [history, setHistory] = useState<InstrumentHistory>();
  const [refusal, setRefusal] = useState<Refusal>();
  const latest = useRef(0);
  async function fetchVisits() {
    latest.current += 1;
    const mine = latest.current;
    const answer = await calls.instruments.history(instrument);
    if (mine !== latest.current) return;
    if (answer.kind === "ok") setHistory(answer.value);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  }
  useEffect(() => {
    void fetchVisits();
    return () => {
      latest.current += 1;
    };
  }, [instrument]);
  useReadAnew(() => void fetchVisits());
  const earlier = history?.visits.filter((visit) => visit.work_order_id !== here) ?? [];
  return (
    <section>
      <h2>{words.historyTab.visits}</h2>
      {history === undefined && refusal === undefined && <p class="quiet" role="status">{words.common.fetching}</p>}
      <RefusalNote refusal={refusal} />
      {history !== undefined && earlier.length === 0 && <p class="quiet">{words.historyTab.noVisits}</p>}
      {history?.watch.map((item) => <p key={item.words + item.found_on} class="heed"><b>{item.words}</b> {item.note ?? ""}</p>)}
      <ol class="entries">
        {earlier.map((visit) => (
          <li key={visit.work_order_id}>
            <a href={`/work-orders/${visit.claim_number}`}>{visit.claim_number}</a>
            <div class="grow">
              {monthWords(visit.checked_in_on)} · {visit.words.length > 0 ? words.common.list(visit.words) : visit.complaint}
              <PhotoStrip photos={visit.photos.map(({ id, caption, small, large }) => ({ id, alt: caption ?? words.photos.untitled, small, large }))} />
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}
