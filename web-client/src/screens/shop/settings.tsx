import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import { session } from "../../api/line";
import type { Shop, ShopEdit } from "../../api/shapes";
import { Button } from "../../elements/button";
import { AreaField, TextField, Tick } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { plainWords, StalePanel } from "../../elements/stale-panel";
import { faultAt, listFaultAt, useAct, type Refusal } from "../../elements/use-act";
import { dayWords } from "../../shop/dates";
import { moneyWords } from "../../shop/money";
import { calendarOf, hoursWords, isOver, WEEKDAYS, type Calendar, type Span } from "../../shop/opening-hours";
import { differencesIn, draftOf, draftOver, readShop, type ShopDraft, type ShopFault } from "../../shop/shop-draft";
import { BenchForm } from "./bench-settings";
import { CareNotes } from "./care-notes";
import { FitLimits } from "./fit-limits";
import { Limits } from "./limits";
import { MethodList } from "./methods";
import { shopHere, signedIn, todayHere } from "../../store";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";

/** What the shop is called, when it is open, what it charges; the proprietor changes it. */
export function Settings({ isProprietor }: { isProprietor: boolean }) {
  const [shop, setShop] = useState<Shop>();
  const [refusal, setRefusal] = useState<Refusal>();
  const fetchIt = async () => {
    const answer = await calls.shop.get();
    if (answer.kind === "ok") adopt(answer.value);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  };
  const adopt = (next: Shop) => {
    setShop(next);
    // Every other screen takes the shop from the session.
    if (signedIn.value !== undefined) session.value = { ...signedIn.value, shop: next };
  };
  useEffect(() => void fetchIt(), []);
  const below = shop === undefined ? undefined : { shop, onShop: adopt };
  return (
    <section class="settings">
      <h2>{shopWords.settings}</h2>
      <RefusalNote refusal={refusal} />
      {refusal !== undefined && <p><button type="button" class="link" onClick={() => void fetchIt()}>{words.line.again}</button></p>}
      {isProprietor && shop !== undefined && below !== undefined ? <><Form shop={shop} onShop={adopt} /><Limits {...below} /><FitLimits {...below} /><BenchForm /><CareNotes {...below} /><MethodList /></> : <Plain shop={shop ?? shopHere()} />}
    </section>
  );
}

function Plain({ shop }: { shop: Shop }) {
  const { weekly } = calendarOf(shop);
  return (
    <>
      <p class="sheet">{shop.name}<br />{shop.address}<br />{shop.phone}<br />{shop.email}</p>
      <dl class="sheet facts-list">
        {WEEKDAYS.map((day) => <div key={day}><dt class="quiet">{shopWords.weekdays[day]}</dt><dd>{weekly[day] === undefined ? shopWords.closedDay : hoursWords(weekly[day])}</dd></div>)}
        <div><dt class="quiet">{shopWords.labourRate}</dt><dd>{moneyWords(shop.labour_rate)}</dd></div>
        <div><dt class="quiet">{shopWords.taxes}</dt><dd>{words.common.list(shop.tax_classes.map((one) => words.quoteTab.taxOf(one.percent)))}; {shop.prices_include_tax ? shopWords.taxIncluded : shopWords.taxOnTop}</dd></div>
        <div><dt class="quiet">{shopWords.quoteReminders}</dt><dd>{daysWords(shop.quote_reminder_days)}</dd></div>
        <div><dt class="quiet">{shopWords.pickupReminders}</dt><dd>{daysWords(shop.pickup_reminder_days)}</dd></div>
        <div><dt class="quiet">{shopWords.timeZone}</dt><dd>{shop.time_zone}</dd></div>
        <div><dt class="quiet">{shopWords.currency}</dt><dd>{shop.currency}</dd></div>
      </dl>
    </>
  );
}

function Form({ shop, onShop }: { shop: Shop; onShop: (shop: Shop) => void }) {
  const act = useAct();
  const [shown, setShown] = useState(shop);
  const [draft, setDraft] = useState(() => draftOf(shop));
  const [faults, setFaults] = useState<readonly ShopFault[]>([]);
  const [tried, setTried] = useState<ShopEdit>({});
  const [current, setCurrent] = useState<Shop>();
  const [saved, setSaved] = useState(false);
  const [showsPast, setShowsPast] = useState(false);
  // A sheet below has raised the version: what is typed here stays, over what stands now.
  useEffect(() => {
    const over = shop.version > shown.version ? draftOver(draft, shown, shop) : undefined;
    if (over === undefined) return;
    setShown(shop);
    setDraft(over);
  }, [shop.version]);
  const set = (change: Partial<ShopDraft>) => {
    setSaved(false);
    setDraft((old) => ({ ...old, ...change }));
  };
  const text = (name: "name" | "phone" | "email" | "address" | "labour_rate" | "quote_days" | "quote_reminder_days" | "pickup_reminder_days" | "terms") => ({
    value: draft[name],
    onInput: (event: { currentTarget: HTMLInputElement | HTMLTextAreaElement }) => set({ [name]: event.currentTarget.value }),
  });

  async function send(edit: ShopEdit, seen: number) {
    setTried(edit);
    await act.run(() => calls.shop.edit(edit, seen), (next) => {
      setShown(next);
      setDraft(draftOf(next));
      setCurrent(undefined);
      setSaved(true);
      onShop(next);
    });
    if (act.refusal?.kind !== "stale") return;
    const answer = await calls.shop.get();
    if (answer.kind === "ok") setCurrent(answer.value);
  }
  function save(event: Event) {
    event.preventDefault();
    const read = readShop(draft, shown);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) return;
    if (Object.keys(read.edit).length === 0) setSaved(true);
    else void send(read.edit, shown.version);
  }
  if (act.refusal?.kind === "stale" && current !== undefined) {
    const differences = differencesIn(tried, shown, current);
    return (
      <StalePanel
        stale={{ ...act.refusal.current, differences }}
        what={words.stale.settings}
        show={showField}
        busy={act.busy}
        onChosen={(mine) => {
          const theirs = differences.filter(({ field }) => !mine.has(field)).map(({ field }) => field);
          const rest: ShopEdit = Object.fromEntries(Object.entries(tried).filter(([field]) => !theirs.some((one) => one === field)));
          void send(rest, current.version);
        }}
      />
    );
  }
  const closed = (at: number, change: Partial<ShopDraft["closed"][number]>) => set({ closed: draft.closed.map((one, i) => (i === at ? { ...one, ...change } : one)) });
  const extra = (at: number, change: Partial<ShopDraft["extra_days"][number]>) => set({ extra_days: draft.extra_days.map((one, i) => (i === at ? { ...one, ...change } : one)) });
  const tax = (at: number, change: Partial<ShopDraft["tax_classes"][number]>) => set({ tax_classes: draft.tax_classes.map((one, i) => (i === at ? { ...one, ...change } : one)) });
  const past = draft.closed.filter((one) => isOver(one, todayHere())).length;
  const wrong = (field: ShopFault["field"]) => faults.some((one) => one.field === field);
  const wrongAt = (field: ShopFault["field"], at: number) => faults.some((one) => one.field === field && "at" in one && one.at === at);
  return (
    <form class="form" aria-label={shopWords.settings} onSubmit={save}>
      <div class="stack">
        <TextField label={shopWords.name} {...text("name")} fault={wrong("name") ? words.common.required : faultAt(act.refusal, "/name")} />
        <TextField label={shopWords.phone} type="tel" {...text("phone")} fault={faultAt(act.refusal, "/phone")} />
        <TextField label={shopWords.email} type="email" {...text("email")} fault={faultAt(act.refusal, "/email")} />
        <AreaField label={shopWords.address} {...text("address")} fault={faultAt(act.refusal, "/address")} />
        <AreaField label={shopWords.terms} help={shopWords.termsHelp} rows={6} {...text("terms")} fault={faultAt(act.refusal, "/terms")} />
        <TextField label={shopWords.quoteDays} class="num" inputMode="numeric" {...text("quote_days")} fault={wrong("quote_days") ? shopWords.noDays : faultAt(act.refusal, "/quote_days")} />
        <TextField label={shopWords.quoteReminders} help={shopWords.remindersHelp} inputMode="numeric" {...text("quote_reminder_days")} fault={wrong("quote_reminder_days") ? shopWords.noReminders : listFaultAt(act.refusal, "/quote_reminder_days")} />
        <TextField label={shopWords.pickupReminders} help={shopWords.pickupRemindersHelp} inputMode="numeric" {...text("pickup_reminder_days")} fault={wrong("pickup_reminder_days") ? shopWords.noReminders : listFaultAt(act.refusal, "/pickup_reminder_days")} />
      </div>
      <fieldset class="stack">
        <legend>{shopWords.hours}</legend>
        <p class="quiet">{shopWords.hoursHelp(shown.time_zone)}</p>
        {WEEKDAYS.map((day) => (
          <TextField
            key={day}
            label={shopWords.weekdays[day]}
            placeholder={shopWords.closedDay}
            value={draft.hours[day]}
            fault={faults.some((one) => one.field === "hours" && one.day === day) ? shopWords.noHours : undefined}
            onInput={(event) => set({ hours: { ...draft.hours, [day]: event.currentTarget.value } })}
          />
        ))}
      </fieldset>
      <div class="stack">
        <fieldset class="stack">
          <legend>{shopWords.closed}</legend>
          <p class="quiet">{shopWords.closedHelp}</p>
          {draft.closed.map((one, at) => (isOver(one, todayHere()) && !showsPast && !wrongAt("closed", at) ? null : <ClosedRow key={at} span={one} wrong={wrongAt("closed", at)} set={(change) => closed(at, change)} drop={() => set({ closed: draft.closed.filter((_, i) => i !== at) })} />))}
          {past > 0 && <button type="button" class="link" aria-expanded={showsPast} onClick={() => setShowsPast(!showsPast)}>{showsPast ? shopWords.hidePast : shopWords.showPast(past)}</button>}
          <div class="row"><button type="button" class="btn" onClick={() => set({ closed: [...draft.closed, { from: "", to: "" }] })}>{shopWords.addClosed}</button></div>
        </fieldset>
        <fieldset class="stack">
          <legend>{shopWords.extraDays}</legend>
          {draft.extra_days.map((one, at) => (
            <div class="cols" key={at}>
              <TextField label={shopWords.day} type="date" value={one.date} fault={wrongAt("extra_days", at) ? shopWords.noExtraDay : undefined} onInput={(event) => extra(at, { date: event.currentTarget.value })} />
              <TextField label={shopWords.hoursThatDay} placeholder={shopWords.closedDay} value={one.hours} onInput={(event) => extra(at, { hours: event.currentTarget.value })} />
              <button type="button" class="btn" onClick={() => set({ extra_days: draft.extra_days.filter((_, i) => i !== at) })}>{words.quoteTab.remove}</button>
            </div>
          ))}
          <div class="row"><button type="button" class="btn" onClick={() => set({ extra_days: [...draft.extra_days, { date: "", hours: "" }] })}>{shopWords.addExtraDay}</button></div>
        </fieldset>
        {faultAt(act.refusal, "/calendar") !== undefined && <p class="fault">{faultAt(act.refusal, "/calendar")}</p>}

        <TextField label={`${shopWords.labourRate}, ${shown.currency}`} class="num" inputMode="decimal" {...text("labour_rate")} fault={wrong("labour_rate") ? shopWords.noRate(shown.currency) : faultAt(act.refusal, "/labour_rate")} />
        <fieldset class="stack">
          <legend>{shopWords.taxes}</legend>
          <Tick label={shopWords.includesTax} checked={draft.prices_include_tax} onInput={(event) => set({ prices_include_tax: event.currentTarget.checked })} />
          {draft.tax_classes.map((one, at) => (
            <div class="cols" key={at}>
              <TextField label={shopWords.taxName} value={one.id} fault={wrongAt("tax_classes", at) ? shopWords.noTax : faultAt(act.refusal, `/tax_classes/${at}/id`)} onInput={(event) => tax(at, { id: event.currentTarget.value })} />
              <TextField label={shopWords.taxPercent} class="num" inputMode="decimal" value={one.percent} fault={faultAt(act.refusal, `/tax_classes/${at}/percent`)} onInput={(event) => tax(at, { percent: event.currentTarget.value })} />
              {draft.tax_classes.length > 1 && <button type="button" class="btn" onClick={() => set({ tax_classes: draft.tax_classes.filter((_, i) => i !== at) })}>{words.quoteTab.remove}</button>}
            </div>
          ))}
          <p class="quiet">{shopWords.taxHelp}</p>
          <div class="row"><button type="button" class="btn" onClick={() => set({ tax_classes: [...draft.tax_classes, { id: "", percent: "" }] })}>{shopWords.addTax}</button></div>
        </fieldset>
      </div>
      {faults.length > 0 && <p class="fault" role="alert">{shopWords.faults(faults.length)}</p>}
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        {saved && <span class="saved" role="status">{shopWords.saved}</span>}
        <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
      </div>
    </form>
  );
}

/** Closed days in one row: from, to, and away with it. */
function ClosedRow({ span: { from, to }, wrong, set, drop }: { span: Span; wrong: boolean; set: (change: Partial<Span>) => void; drop: () => void }) {
  return (
    <div class="span-row">
      <TextField label={shopWords.closedFrom} hideLabel type="date" value={from} fault={wrong ? shopWords.noSpan : undefined} onInput={(event) => set({ from: event.currentTarget.value, ...(to === "" || to === from ? { to: event.currentTarget.value } : {}) })} />
      <TextField label={shopWords.closedTo} hideLabel type="date" value={to} onInput={(event) => set({ to: event.currentTarget.value })} />
      <button type="button" class="btn" aria-label={shopWords.removeClosed(from === "" ? "" : dayWords(from))} onClick={drop}>{words.quoteTab.remove}</button>
    </div>
  );
}

const daysWords = (days: readonly number[]) => (days.length === 0 ? shopWords.never : days.join(", "));

/** A setting in words. */
function showField(field: string, value: unknown): string {
  if ((field === "quote_reminder_days" || field === "pickup_reminder_days") && Array.isArray(value)) return daysWords(value as number[]);
  if (field === "calendar") return calendarWords(calendarOf({ ...shopHere(), calendar: value as Shop["calendar"] }));
  if (field === "tax_classes" && Array.isArray(value)) return words.common.list(value.map((one: Shop["tax_classes"][number]) => `${one.id} ${words.quoteTab.percent(one.percent)}`));
  return plainWords(value);
}

function calendarWords({ weekly, closed, extra_days }: Calendar): string {
  return [
    ...WEEKDAYS.flatMap((day) => (weekly[day] === undefined ? [] : [`${shopWords.weekdays[day]} ${hoursWords(weekly[day])}`])),
    ...closed.map(({ from, to }) => shopWords.closedWords(dayWords(from), dayWords(to))),
    ...extra_days.map(({ date, open }) => `${dayWords(date)} ${open.length === 0 ? shopWords.closedDay : hoursWords(open)}`),
  ].join(" · ");
}
