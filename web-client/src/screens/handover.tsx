import { useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { PaymentHow, WorkOrder } from "../api/shapes";
import { Button } from "../elements/button";
import { findingWords } from "../elements/finding-form";
import { amountOf, AreaField, isOneOf, Options, SelectField, TextField, textIn, Tick, ticksIn } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { useOrder } from "../elements/use-order";
import { useArrival, useTitle } from "../elements/use-title";
import { instrumentWords } from "../shop/instrument";
import { isZero, moneyWords, moreThan } from "../shop/money";
import { partWords, personHere, shopHere } from "../store";
import { words } from "../words";

/** Pickup: the amount due, what goes back, who takes it. */
export function Handover({ number }: { number: string }) {
  const { order, refusal, reload } = useOrder(number);
  useTitle(words.handover.title);
  useArrival();
  return (
    <div class="page plain-page">
      <Head at="workOrders" />
      <LineStrip onAgain={() => void reload()} />
      <main id="main" class="hand-over" tabIndex={-1}>
        {order === undefined ? (
          refusal === undefined ? <p role="status">{words.order.fetching}</p> : <RefusalNote refusal={refusal} onReload={() => void reload()} />
        ) : (
          <>
            <h1>{words.handover.title} <span class="no">{order.claim_number}</span></h1>
            <p>{instrumentWords(order.instrument, words.families)} · {order.customer.name} · <a href={`/work-orders/${order.claim_number}`}>{words.handover.back}</a></p>
            {order.stage === "closed" ? <p class="heed"><b>{words.handover.done(order.claim_number)}</b></p>
              : order.stage !== "pickup" ? <p class="heed">{words.handover.notReady}</p>
              : <HandoverForm order={order} reload={reload} />}
          </>
        )}
      </main>
      <Thumb at="workOrders" />
    </div>
  );
}

function HandoverForm({ order, reload }: { order: WorkOrder; reload: () => Promise<void> }) {
  const act = useAct();
  const { due } = order.money;
  const isDue = !isZero(due);
  const [rest, setRest] = useState<"pay" | "account" | "waive">("pay");
  const [how, setHow] = useState<"collected" | "shipped">("collected");
  const [ticked, setTicked] = useState<ReadonlySet<string>>(new Set());
  const [wrong, setWrong] = useState<ReadonlySet<"by" | "amount">>(new Set());
  // Empty: what was paid is said by the person at the counter, never by the program.
  const [paid, setPaid] = useState("");
  const [asked, setAsked] = useState(false);
  const here = useRef<HTMLFormElement>(null);
  const isPaying = rest === "pay" && isDue;
  const paying = isPaying ? amountOf(paid) : undefined;
  const over = paying === undefined ? undefined : moreThan(paying, due);
  const left = order.findings.filter((one) => !one.struck_reason && (one.disposition === "leave_and_watch" || one.disposition === "another_visit"));
  const missing = order.accessories.length - ticked.size;

  async function save(form: HTMLFormElement, sure: boolean) {
    const [by, note, reason, payHow] = [textIn(form, "by"), textIn(form, "note"), textIn(form, "reason"), textIn(form, "pay_how")];
    const lost = missing > 0 ? textIn(form, "lost") : "";
    const faults = new Set<"by" | "amount">();
    if (by === "") faults.add("by");
    if (isPaying && paying === undefined) faults.add("amount");
    setWrong(faults);
    setAsked(faults.size === 0 && over !== undefined && !sure);
    if (faults.size > 0 || (over !== undefined && !sure)) return;
    await act.run(
      (once) => calls.orders.handOver(order.id, {
        how,
        collected_by: by,
        accessories_returned: ticksIn(form, "accessory"),
        ...(lost === "" ? {} : { accessories_lost: order.accessories.filter((one) => !ticked.has(one.name)).map(({ name }) => ({ name, reason: lost })) }),
        ...(paying !== undefined && !isZero(paying) && isOneOf<PaymentHow>(words.paymentHow, payHow) ? { payment: { amount: paying, how: payHow, ...(over === undefined ? {} : { more_than_due: true }) } } : {}),
        ...(ticksIn(form, "loaner").length > 0 ? { loaner_returned: true } : {}),
        ...(rest === "account" ? { charge_to_account: true } : {}),
        ...(rest === "waive" ? { waive: { reason } } : {}),
        ...(note === "" ? {} : { note }),
      }, once, order.version),
      reload,
    );
  }
  return (
    <form
      class="stack"
      ref={here}
      onSubmit={(event) => {
        event.preventDefault();
        void save(event.currentTarget, false);
      }}
      onKeyDown={(event) => {
        // Enter in a field would take money and close the order; only the button that says so does.
        if (event.key === "Enter" && event.target instanceof HTMLInputElement) event.preventDefault();
      }}
    >
      <div class="sheet due">
        <span>{words.handover.due}</span> <b>{moneyWords(due)}</b>
        {order.money.examination_fee && <span>{words.handover.examination}: {moneyWords(order.money.examination_fee)}</span>}
        <span class="quiet">{isDue ? `${words.order.total} ${moneyWords(order.money.total)} · ${words.order.paid} ${moneyWords(order.money.paid)}` : words.handover.nothingDue}</span>
      </div>
      {left.length > 0 && (
        <div class="heed">
          <b>{words.handover.left}:</b>
          <ul>{left.map((one) => <li key={one.id}>{findingWords(one, partWords(order.instrument.family, one.part))}{one.note ? `: ${one.note}` : ""}</li>)}</ul>
        </div>
      )}
      {isDue && (
        <fieldset class="form">
          <legend class="vh">{words.handover.pay}</legend>
          <div class="tickbox">
            {(["pay", "account", ...(personHere().roles.includes("proprietor") ? (["waive"] as const) : [])] as const).map((one) => (
              <label key={one} class="check">
                <input type="radio" name="rest" checked={rest === one} onInput={() => setRest(one)} />{" "}
                {one === "pay" ? words.handover.pay : one === "account" ? words.handover.account : words.handover.waive}
              </label>
            ))}
          </div>
          {rest === "pay" && (
            <div class="cols">
              <div class="stack">
                <TextField label={words.handover.paid} name="amount" class="money" inputMode="decimal" value={paid} fault={wrong.has("amount") ? words.handover.noPaid(shopHere().currency) : faultAt(act.refusal, "/payment/amount")} onInput={(event) => {
                  setPaid(event.currentTarget.value);
                  setAsked(false);
                }} />
                <button type="button" class="btn" onClick={() => { setPaid(due.amount); setAsked(false); setWrong(new Set()); }}>{words.handover.all(moneyWords(due))}</button>
              </div>
              <SelectField label={words.handover.payHow} name="pay_how"><Options of={words.paidHow} chosen="card" /></SelectField>
            </div>
          )}
          {rest === "waive" && <TextField label={words.handover.waiveReason} name="reason" required />}
        </fieldset>
      )}
      <fieldset class="form">
        <legend class="vh">{words.handover.accessories}</legend>
        <h2>{words.handover.accessories}</h2>
        {order.accessories.length === 0 && <p class="quiet">{words.handover.noAccessories}</p>}
        <div class="tickbox">
          {order.accessories.map((one) => (
            <Tick
              key={one.name}
              name="accessory"
              value={one.name}
              label={one.name}
              checked={ticked.has(one.name)}
              onInput={(event) => {
                const next = new Set(ticked);
                if (event.currentTarget.checked) next.add(one.name);
                else next.delete(one.name);
                setTicked(next);
              }}
            />
          ))}
        </div>
        {order.loaner_number && !order.loaner_back_at && <Tick name="loaner" value="back" label={words.handover.loaner(order.loaner_number)} />}
        {missing > 0 && (
          <>
            <p class="quiet">{words.handover.missing(missing)}</p>
            <TextField label={words.handover.lost} help={words.handover.lostHelp} name="lost" fault={faultAt(act.refusal, "/accessories_lost/0/reason")} />
          </>
        )}
      </fieldset>
      <div class="form">
        <div class="seg plain" role="radiogroup" aria-label={words.handover.how}>
          {(["collected", "shipped"] as const).map((one) => (
            <button key={one} type="button" class="btn" role="radio" aria-checked={how === one} onClick={() => setHow(one)}>{words.handover[one]}</button>
          ))}
        </div>
        <TextField label={words.handover.by} help={words.handover.byHelp} name="by" fault={wrong.has("by") ? words.common.required : faultAt(act.refusal, "/collected_by")} />
        <AreaField label={words.handover.note} name="note" />
      </div>
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      {asked && over !== undefined ? (
        <div class="reason" role="alert">
          <p><b>{words.handover.over(moneyWords(over))}</b></p>
          <div class="row">
            <Button type="button" class="btn main" busy={act.busy} onClick={() => { if (here.current !== null) void save(here.current, true); }}>{words.handover.overYes}</Button>
            <button type="button" class="link" onClick={() => setAsked(false)}>{words.handover.overNo}</button>
          </div>
        </div>
      ) : (
        <Button class="btn bench main" busy={act.busy}>{paying === undefined || isZero(paying) ? words.handover.button : words.handover.buttonPaid(moneyWords(paying))}</Button>
      )}
    </form>
  );
}
