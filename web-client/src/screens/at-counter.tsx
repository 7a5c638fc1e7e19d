import { useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { PaymentHow, TestMethod, WorkOrder } from "../api/shapes";
import { Button } from "../elements/button";
import { Cautions } from "../elements/cautions";
import { AreaField, isOneOf, keysOf, Options, SelectField, TextField, Tick } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { Papers } from "../elements/papers";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { useOrder } from "../elements/use-order";
import { useArrival, useTitle } from "../elements/use-title";
import { costOf, readVisit, type CounterFault, type CounterStep, type CounterTerms, type CounterVisit } from "../shop/counter-visit";
import { instrumentWords } from "../shop/instrument";
import { isZero, moneyWords } from "../shop/money";
import { iMay, offeredMethods, shopHere } from "../store";
import { TEST_CAUTIONS } from "../shop/test-cautions";
import { words } from "../words";

/** A stuck mouthpiece, a water-key cork: the whole visit in one act, while the customer waits. */
export function AtCounter({ number }: { number: string }) {
  const { order, refusal, reload } = useOrder(number);
  const [done, setDone] = useState(false);
  useTitle(words.atCounter.title);
  useArrival();
  const mine = iMay("front_desk") && iMay("technician");
  return (
    <div class="page plain-page">
      <Head at="workOrders" />
      <LineStrip onAgain={() => void reload()} />
      <main id="main" class="hand-over" tabIndex={-1}>
        {order === undefined ? (
          refusal === undefined ? <p role="status">{words.order.fetching}</p> : <RefusalNote refusal={refusal} onReload={() => void reload()} />
        ) : (
          <>
            <h1>{words.atCounter.title} <span class="no">{order.claim_number}</span></h1>
            <p>{instrumentWords(order.instrument, words.families)} · {order.customer.name} · <a href={`/work-orders/${order.claim_number}`}>{words.handover.back}</a></p>
            <Papers order={order} />
            {done || order.stage === "closed" ? <p class="heed" role="status"><b>{words.handover.done(order.claim_number)}</b> <a href="/check-in">{words.atCounter.next}</a></p>
              : !mine ? <p class="heed">{words.atCounter.notYours}</p>
              : order.stage !== "intake" ? <p class="heed">{words.atCounter.notNow}</p>
              : <VisitForm order={order} reload={reload} onDone={() => setDone(true)} />}
          </>
        )}
      </main>
      <Thumb at="workOrders" />
    </div>
  );
}

function VisitForm({ order, reload, onDone }: { order: WorkOrder; reload: () => Promise<void>; onDone: () => void }) {
  const shop = shopHere();
  const act = useAct();
  const form = useRef<HTMLFormElement>(null);
  const [faults, setFaults] = useState<readonly CounterFault[]>([]);
  const [visit, setVisit] = useState<CounterVisit>(() => ({
    steps: [], test: "finger_and_blow", noticed: "", rest: "pay", how: "card", waiveReason: "", leaves: "collected",
    by: order.customer.name, returned: [], note: "",
  }));
  const set = (change: Partial<CounterVisit>) => setVisit((old) => ({ ...old, ...change }));
  const taxPercent = shop.tax_classes[0]?.percent ?? "0";
  const terms: CounterTerms = { currency: shop.currency, taxPercent, pricesIncludeTax: shop.prices_include_tax, paid: order.money.paid };
  const cost = costOf(visit.steps, terms);
  const missing = order.accessories.length - visit.returned.length;
  const wrong = (field: CounterFault["field"]) => faults.some((one) => one.field === field);

  async function save(event: Event) {
    event.preventDefault();
    const read = readVisit(visit, terms);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) {
      // The next render marks what is wrong; the first of it is gone to.
      setTimeout(() => form.current?.querySelector<HTMLElement>("[aria-invalid]")?.focus());
      return;
    }
    await act.run((once) => calls.orders.doneAtCounter(order.id, read.act, once, order.version), async () => {
      onDone();
      await reload();
    });
  }
  return (
    <form class="stack" ref={form} onSubmit={(event) => void save(event)}>
      <p class="quiet">{words.atCounter.lead}</p>
      <Steps steps={visit.steps} onSteps={(steps) => set({ steps })} faults={faults} />
      <div class="sheet due" role="status">
        <span>{words.atCounter.together}</span> <b>{cost === undefined ? "–" : moneyWords(cost.total)}</b>
        <span class="quiet">
          {words.common.list([
            ...(shop.prices_include_tax || isZero({ amount: taxPercent, currency: shop.currency }) ? [] : [words.atCounter.withTax(taxPercent)]),
            ...(isZero(order.money.paid) ? [] : [words.atCounter.paidBefore(moneyWords(order.money.paid))]),
          ])}
        </span>
      </div>
      <fieldset class="form">
        <legend class="vh">{words.atCounter.test}</legend>
        <h2>{words.atCounter.test}</h2>
        <div class="seg plain" role="radiogroup" aria-label={words.atCounter.test}>
          {keysOf<TestMethod>(words.testMethods).filter((one) => one !== "played" && one !== "pressure_decay").map((one) => (
            <button key={one} type="button" class="btn" role="radio" aria-checked={visit.test === one} onClick={() => set({ test: one })}>{words.testMethods[one]}</button>
          ))}
        </div>
        <TextField label={words.testsTab.note} value={visit.noticed} onInput={(event) => set({ noticed: event.currentTarget.value })} />
        <Cautions slugs={TEST_CAUTIONS[visit.test]} />
        <p class="quiet">{words.atCounter.failed}</p>
      </fieldset>
      <fieldset class="form">
        <legend class="vh">{words.handover.pay}</legend>
        <h2>{words.handover.pay}</h2>
        <div class="tickbox">
          {(["pay", "account", ...(iMay("proprietor") ? (["waive"] as const) : [])] as const).map((one) => (
            <label key={one} class="check">
              <input type="radio" name="rest" checked={visit.rest === one} onInput={() => set({ rest: one })} />{" "}
              {one === "pay" ? words.atCounter.payNow(cost === undefined ? "–" : moneyWords(cost.due)) : words.atCounter[one]}
            </label>
          ))}
        </div>
        {visit.rest === "pay" ? (
          <SelectField label={words.handover.payHow} value={visit.how} onInput={(event) => {
            const { value } = event.currentTarget;
            if (isOneOf<PaymentHow>(words.paymentHow, value)) set({ how: value });
          }}>
            <Options of={words.paidHow} chosen={visit.how} />
          </SelectField>
        ) : <p class="quiet">{words.atCounter.allowed(isZero(order.authorised) ? words.common.none : moneyWords(order.authorised))}</p>}
        {visit.rest === "waive" && <TextField label={words.handover.waiveReason} value={visit.waiveReason} fault={wrong("waiveReason") ? words.common.required : undefined} onInput={(event) => set({ waiveReason: event.currentTarget.value })} />}
      </fieldset>
      <fieldset class="form">
        <legend class="vh">{words.handover.accessories}</legend>
        <h2>{words.handover.accessories}</h2>
        {order.accessories.length === 0 && <p class="quiet">{words.handover.noAccessories}</p>}
        <div class="tickbox">
          {order.accessories.map(({ name }) => (
            <Tick key={name} label={name} checked={visit.returned.includes(name)} onInput={(event) =>
              set({ returned: event.currentTarget.checked ? [...visit.returned, name] : visit.returned.filter((one) => one !== name) })} />
          ))}
        </div>
        {missing > 0 && <p class="quiet">{words.handover.missing(missing)}</p>}
        <TextField label={words.atCounter.by} value={visit.by} fault={wrong("by") ? words.common.required : faultAt(act.refusal, "/collected_by")} onInput={(event) => set({ by: event.currentTarget.value })} />
        <AreaField label={words.handover.note} value={visit.note} onInput={(event) => set({ note: event.currentTarget.value })} />
      </fieldset>
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      <Button class="btn bench main" busy={act.busy}>{words.atCounter.button}</Button>
    </form>
  );
}

/** The shop's methods that can be undone, one tick each, and whatever else was done. */
function Steps({ steps, onSteps, faults }: { steps: readonly CounterStep[]; onSteps: (steps: readonly CounterStep[]) => void; faults: readonly CounterFault[] }) {
  const { currency } = shopHere();
  const [title, setTitle] = useState("");
  const [price, setPrice] = useState("");
  const offered = offeredMethods.value.filter((method) => !method.irreversible);
  const own = steps.filter((step) => step.method_id === undefined);
  const drop = (key: string) => onSteps(steps.filter((step) => step.key !== key));
  const line = (key: string, name: string, normal: string, add?: () => void) => {
    const step = steps.find((one) => one.key === key);
    return (
      <li key={key}>
        <Tick label={name} checked={step !== undefined} onInput={(event) => (event.currentTarget.checked ? add?.() : drop(key))} />
        {step === undefined ? <span class="amount quiet">{normal}</span> : (
          <TextField
            label={words.atCounter.price(name)}
            hideLabel
            class="num"
            inputMode="decimal"
            value={step.price}
            fault={faults.some((one) => one.field === "price" && one.key === key) ? words.checkIn.noAmount(currency) : undefined}
            onInput={(event) => onSteps(steps.map((one) => (one.key === key ? { ...one, price: event.currentTarget.value } : one)))}
          />
        )}
      </li>
    );
  };
  function addOwn() {
    const name = title.trim();
    if (name === "") return;
    onSteps([...steps, { key: `own ${steps.length} ${name}`, title: name, price }]);
    setTitle("");
    setPrice("");
  }
  const onEnter = (event: KeyboardEvent) => {
    if (event.key !== "Enter" || title.trim() === "") return;
    event.preventDefault();
    addOwn();
  };
  return (
    <fieldset class="form">
      <legend class="vh">{words.atCounter.what}</legend>
      <h2>{words.atCounter.what}</h2>
      {faults.some((one) => one.field === "steps") && <p class="fault" role="alert">{words.atCounter.needsSteps}</p>}
      <ul class="picks">
        {offered.map((method) => line(method.id, method.name, moneyWords(method.price), () =>
          onSteps([...steps, { key: method.id, method_id: method.id, title: method.name, price: method.price.amount }])))}
        {own.map((step) => line(step.key, step.title, ""))}
        <li class="own" onFocusOut={(event) => {
          // What was typed and not added is what was done all the same.
          if (!(event.relatedTarget instanceof Node && event.currentTarget.contains(event.relatedTarget))) addOwn();
        }}>
          <TextField label={words.atCounter.own} value={title} onInput={(event) => setTitle(event.currentTarget.value)} onKeyDown={onEnter} />
          <TextField label={words.workTab.price} class="num" inputMode="decimal" value={price} onInput={(event) => setPrice(event.currentTarget.value)} onKeyDown={onEnter} />
          <button type="button" class="btn" onClick={addOwn}>{words.atCounter.ownAdd}</button>
        </li>
      </ul>
      <p class="quiet">{words.atCounter.byName}</p>
    </fieldset>
  );
}
