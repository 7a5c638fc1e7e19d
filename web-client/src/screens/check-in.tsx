import { useEffect, useRef, useState } from "preact/hooks";
import { fetchBoard } from "../app";
import * as calls from "../api/calls";
import type { Contact, Customer, WorkOrder } from "../api/shapes";
import { Button } from "../elements/button";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { Papers } from "../elements/papers";
import { PhotoPostings } from "../elements/photo-postings";
import { PhotosChosen } from "../elements/photos-chosen";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { useKeys } from "../elements/use-keys";
import { useTitle } from "../elements/use-title";
import { post } from "../photo-post";
import { AreaField, isOneOf, Options, SelectField, TextField } from "../elements/form";
import { countMarks, emptyDraft, missingIn, nextOf, orderOf, type CheckInDraft, type Missing } from "../shop/check-in-draft";
import { dayWords } from "../shop/dates";
import { instrumentWords } from "../shop/instrument";
import { afterCheckIn, keepAfterCheckIn, papersAtOnce, receiptSaid, type AfterCheckIn, type PaperName } from "../shop/papers";
import { readyBy } from "../shop/twenty";
import { board, places, shopHere, todayHere } from "../store";
import { words } from "../words";
import { Looks } from "./check-in/looks";
import { Planned, SimilarCost, useForecast } from "./check-in/planned";
import { LookNow, What } from "./check-in/what";
import { Who } from "./check-in/who";

const PLACE = "check-in-draft";
const DAY_MS = 86_400_000;

/** What was typed before and not finished, for a day. */
function keptDraft(): CheckInDraft | undefined {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(PLACE) ?? "null");
    if (typeof found !== "object" || found === null || !("at" in found) || !("draft" in found)) return undefined;
    const { at, draft } = found;
    if (typeof at !== "number" || Date.now() - at > DAY_MS || !isDraft(draft)) return undefined;
    return draft;
  } catch {
    return undefined;
  }
}

function isDraft(draft: unknown): draft is CheckInDraft {
  return typeof draft === "object" && draft !== null && Object.keys(emptyDraft()).every((key) => ["customer", "owner", "instrument"].includes(key) || key in draft) && "marks" in draft && Array.isArray(draft.marks);
}

/** From the door to a tag on the case in two minutes, without the mouse. */
export function CheckIn() {
  useTitle(words.checkIn.title);
  const shop = shopHere();
  const [before] = useState(keptDraft);
  const [draft, setDraft] = useState<CheckInDraft>(() => before ?? emptyDraft());
  const [missing, setMissing] = useState<Missing[]>([]);
  // What one customer just left, the last one last: it gets one receipt.
  const [done, setDone] = useState<readonly WorkOrder[]>([]);
  const [atOnce, setAtOnce] = useState<readonly PaperName[]>([]);
  const [receipt, setReceipt] = useState<{ of: string; isOut: boolean }>();
  const [isFollowed, setFollowed] = useState(false);
  const moreFollow = useRef(false);
  const [prints, setPrints] = useState(afterCheckIn);
  // Pictures are too large for the kept draft: they stay as long as the page does.
  const [photos, setPhotos] = useState<File[]>([]);
  // One may be added while the check-in is under way.
  const photosNow = useRef(photos);
  photosNow.current = photos;
  const [isKept, setKept] = useState(before !== undefined);
  const act = useAct();
  const main = useRef<HTMLElement>(null);
  // The step to go to once its list has been fetched.
  const wanted = useRef<number>(undefined);
  const today = todayHere();
  const openDays = board.value?.board.open_days ?? [];

  useEffect(() => {
    if (board.value === undefined) void fetchBoard();
    goTo(main.current, 1);
  }, []);
  useEffect(() => {
    const empty = JSON.stringify(draft) === JSON.stringify(emptyDraft());
    if (empty) localStorage.removeItem(PLACE);
    else localStorage.setItem(PLACE, JSON.stringify({ at: Date.now(), draft }));
  }, [draft]);

  const change = (part: Partial<CheckInDraft>) => {
    // What the server said of a field is said of what stood there.
    if (act.refusal?.kind === "problem" && (act.refusal.problem.errors ?? []).length > 0) act.clear();
    setDraft((old) => ({ ...old, ...part }));
  };
  async function finish(next: boolean) {
    const lacks = missingIn(draft, today, shop.currency, ofTwenty);
    setMissing(lacks);
    const order = orderOf(draft, today, shop.currency, shop.language, ofTwenty);
    if (order === undefined) return goTo(main.current, lacks[0]?.step ?? 1);
    if (lacks.length > 0) return goTo(main.current, lacks[0]?.step ?? 1);
    await act.run((once) => calls.orders.checkIn(order, once), (made) => {
      post(made.id, photosNow.current);
      setPhotos([]);
      setDone((before) => [...before.filter((one) => moreFollow.current && one.customer.id === made.customer.id), made]);
      setAtOnce(papersAtOnce(prints, Boolean(made.customer.email), next));
      setFollowed(next);
      setKept(false);
      setDraft(next ? nextOf(draft, asFound(made.customer), asFound(made.owner)) : emptyDraft());
      setTimeout(() => { moreFollow.current = next; });
      // The next render has the fields of the next instrument.
      setTimeout(() => goTo(main.current, next ? 2 : 1));
      window.scrollTo(0, 0);
    });
  }
  /** Nothing of what was begun stays, least of all a picture of somebody else's instrument. */
  function beginAnew() {
    setKept(false);
    setPhotos([]);
    setMissing([]);
    act.clear();
    setDraft(emptyDraft());
    goTo(main.current, 1);
  }
  function askOwner() {
    if (draft.customer === undefined) return;
    change({ ownerApart: true });
    setTimeout(() => goTo(main.current, "1-owner"));
  }
  const jump = (step: number) => () => goTo(main.current, step);
  useKeys({
    ...Object.fromEntries([1, 2, 3, 4, 5, 6, 7, 8].map((step) => [String(step), jump(step)])),
    o: askOwner,
    n: () => change(draft.customer === undefined ? { customer: "new", instrument: "new" } : { instrument: "new" }),
  });
  function onKey(event: KeyboardEvent) {
    if (event.key !== "Enter" || event.isComposing) return;
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      void finish(event.shiftKey);
    } else if (event.target instanceof HTMLElement && !event.target.matches("button, a")) {
      event.preventDefault();
      if (event.target.matches("input[type=radio]:not(:checked)")) event.target.click();
      walkStops(main.current, event.target, event.shiftKey ? -1 : 1);
    }
  }

  const family = typeof draft.instrument === "object" ? draft.instrument.family : draft.newInstrument.family === "" ? undefined : draft.newInstrument.family;
  const forecast = useForecast(family, draft.mayCost);
  const ofTwenty = forecast === undefined || forecast.twenty.length === 0 || draft.promisedOn === "" ? undefined : readyBy(forecast.twenty, draft.promisedOn);
  // What was missing at the last press and still is: a fault goes as soon as it is mended.
  const stillMissing = missing.length === 0 ? [] : missingIn(draft, today, shop.currency, ofTwenty).filter((now) => missing.some((one) => one.what === now.what || (one.step === 8 && now.step === 8)));
  const lacks = (what: Missing["what"]) => stillMissing.some((one) => one.what === what);
  const last = done.at(-1);
  const personFaults = (who: "customer" | "owner") => ({ name: faultAt(act.refusal, `/${who}/name`), phone: faultAt(act.refusal, `/${who}/phone`), email: faultAt(act.refusal, `/${who}/email`) });
  const dayFault = lacks("past") ? words.checkIn.plannedPast : lacks("date") ? words.checkIn.needs.date : faultAt(act.refusal, "/promised_on");
  return (
    <div class="page check-in">
      <Head at="checkIn" />
      <LineStrip onAgain={() => void fetchBoard()} photosOf={done.map((one) => one.id)} />
      {last !== undefined && (
        <div class="news">
          <div class="row" role="status">
            <b class="no big">{words.checkIn.done(last.claim_number)}</b>
            <span>{words.checkIn.receiptIs[receiptSaid({ hasMail: Boolean(last.customer.email), out: receipt?.of === last.id ? receipt.isOut : undefined, moreFollow: isFollowed, atOnce })]}</span>
            <a href={`/work-orders/${last.claim_number}`}>{words.checkIn.doneOpen}</a>
          </div>
          <Papers key={last.id} order={last} together={done.slice(0, -1)} atOnce={atOnce} onTried={(name, isOut) => { if (name === "receipt") setReceipt({ of: last.id, isOut }); }} />
          {done.map((one) => <PhotoPostings key={one.id} order={one.id} />)}
        </div>
      )}
      {isKept && (
        <div class="news" role="status">
          <span>{words.checkIn.kept}</span>
          <button type="button" class="link" onClick={beginAnew}>{words.checkIn.keptClear}</button>
        </div>
      )}
      <main id="main" class="ci" ref={main} tabIndex={-1} onKeyDown={onKey}>
        <h1 class="vh">{words.checkIn.title}</h1>
        <section>
          <div class="step"><Step n={1} /><Who draft={draft} onDraft={change} faults={{ customer: personFaults("customer"), owner: personFaults("owner") }} onOwner={askOwner} onChosen={(isNew, of) => {
            wanted.current = isNew ? undefined : 2;
            if (isNew) setTimeout(() => goTo(main.current, of === "owner" ? "1-owner-new" : "1-new"));
          }} /></div>
          <div class="step"><Step n={2} /><What draft={draft} onDraft={change} onReady={() => {
            if (wanted.current !== undefined) goTo(main.current, wanted.current);
            wanted.current = undefined;
          }} /></div>
          <div class="sheet look-now">
            <LookNow draft={draft} />
            <p class="keys-note">
              <kbd>Enter</kbd> {words.checkIn.keys.next} · <kbd>Shift Enter</kbd> {words.checkIn.keys.back}<br />
              <kbd>Esc</kbd> {words.checkIn.keys.then} <kbd>1</kbd> {words.checkIn.keys.to} <kbd>8</kbd> {words.checkIn.keys.jumps}
            </p>
          </div>
        </section>
        <section>
          <div class="step" data-stop-in="3">
            <Step n={3} />
            <AreaField label={words.checkIn.complaint} hideLabel value={draft.complaint} fault={lacks("says") ? words.checkIn.needs.says : faultAt(act.refusal, "/complaint")} onInput={(event) => change({ complaint: event.currentTarget.value })} />
          </div>
          <div class="step">
            <Step n={4} />
            <Looks draft={draft} onDraft={change} family={family} />
            <div class="two">
              <TextField label={words.checkIn.conditionNote} value={draft.conditionNote} onInput={(event) => change({ conditionNote: event.currentTarget.value })} />
              <TextField label={words.checkIn.keepAsIs} placeholder={words.checkIn.keepPlaceholder} value={draft.keepAsIs} onInput={(event) => change({ keepAsIs: event.currentTarget.value })} />
            </div>
          </div>
          <div class="two wide-first">
            <div class="step" data-stop-in="5"><Step n={5} /><CameWith draft={draft} onDraft={change} /></div>
            <div class="step" data-stop-in="6">
              <Step n={6} />
              <PhotosChosen files={photos} onFiles={setPhotos}>{words.photos.atCounter}</PhotosChosen>
              <SelectField label={words.checkIn.place} value={draft.place} onInput={(event) => change({ place: event.currentTarget.value })}>
                <option value="">{words.checkIn.noPlace}</option>
                {places.value.map((place) => <option key={place.id} value={place.name}>{place.name}</option>)}
              </SelectField>
            </div>
          </div>
        </section>
        <section>
          <div class="step" data-stop-in="7">
            <Step n={7} />
            <div class="amount-row">
              <p class="quiet">{words.checkIn.mayCost} <SimilarCost forecast={forecast} /> {words.checkIn.mayCostEmpty}</p>
              <TextField label={words.checkIn.mayCostLabel} hideLabel class="money" inputMode="decimal" value={draft.mayCost} fault={lacks("amount") ? words.checkIn.noAmount(shop.currency) : faultAt(act.refusal, "/may_cost/amount")} onInput={(event) => change({ mayCost: event.currentTarget.value })} />
            </div>
            <div class="amount-row">
              <p class="quiet">{words.checkIn.examinationFee}</p>
              <TextField label={words.checkIn.examinationFee} hideLabel class="num" inputMode="decimal" value={draft.examinationFee} fault={lacks("fee") ? words.checkIn.noAmount(shop.currency) : undefined} onInput={(event) => change({ examinationFee: event.currentTarget.value })} />
            </div>
          </div>
          <div class="step" data-stop-in="8">
            <Step n={8} />
            <Planned draft={draft} onDraft={change} forecast={forecast} today={today} openDays={openDays} fault={dayFault} reasonFault={lacks("reason") ? words.checkIn.needs.reason : undefined} />
          </div>
          <GrowingTag draft={draft} photos={photos.length} />
          <div class="finish">
            {missing.length > 0 && <StillNeeded missing={stillMissing} onJump={(step) => goTo(main.current, step)} />}
            <RefusalNote refusal={act.refusal} />
            <Button type="button" class="btn main" busy={act.busy} onClick={() => void finish(false)}>
              {words.checkIn.finishWith[prints][hasMail(draft) ? "mail" : "paper"]} <kbd>Ctrl Enter</kbd>
            </Button>
            <Button type="button" class="btn" busy={act.busy} onClick={() => void finish(true)}>{words.checkIn.next} <kbd>Ctrl Shift Enter</kbd></Button>
            <SelectField label={words.checkIn.prints} value={prints} onInput={(event) => {
              const { value } = event.currentTarget;
              if (!isOneOf<AfterCheckIn>(words.checkIn.printsWhat, value)) return;
              setPrints(value);
              keepAfterCheckIn(value);
            }}><Options of={words.checkIn.printsWhat} /></SelectField>
          </div>
        </section>
      </main>
      <Thumb at="checkIn" />
    </div>
  );
}

function Step({ n }: { n: number }) {
  return <h2 class="stp"><i>{n}</i>{words.checkIn.steps[n - 1]}</h2>;
}

function hasMail(draft: CheckInDraft): boolean {
  return draft.customer === "new" ? draft.newCustomer.email.trim() !== "" : Boolean(draft.customer?.email);
}

/** Somebody of an order just made, as the search would give them. */
function asFound(contact: Contact): Customer {
  return { ...contact, version: 0, visits_count: 1 };
}

/** Enter goes from field to field in the order of the page; every list is one stop. */
function walkStops(main: HTMLElement | null, from: HTMLElement, step: 1 | -1): void {
  const all = [...(main?.querySelectorAll<HTMLElement>("input, textarea, select, [role=listbox][tabindex]") ?? [])].filter((one) => one.offsetParent !== null || one.matches("input[type=radio]")).filter((one) => one.closest(".finish") === null);
  const groupOf = (one: HTMLElement) => one.closest("fieldset, .tick") ?? one;
  const groups = [...new Set(all.map(groupOf))];
  const next = groups[groups.indexOf(groupOf(from)) + step];
  if (next !== undefined) focusIn(next);
}

function focusIn(place: Element): void {
  const field = place.matches("input, textarea, select, [role=listbox]")
    ? place
    : (place.querySelector("input:checked") ?? place.querySelector("input, textarea, select"));
  if (field instanceof HTMLElement) field.focus();
  if (field instanceof HTMLInputElement && field.type !== "date") field.select();
}

/** Goes to a step's first field. */
function goTo(main: HTMLElement | null, step: number | "1-new" | "1-owner" | "1-owner-new"): void {
  const place = main?.querySelector(`[data-stop="${step}"]`) ?? main?.querySelector(`[data-stop-in="${step}"]`);
  if (place != null) focusIn(place.matches("input[type=radio]") ? (place.closest("fieldset") ?? place) : place);
}

function CameWith({ draft, onDraft }: { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void }) {
  const [other, setOther] = useState("");
  const own = draft.accessories.filter((one) => !words.checkIn.accessories.some((known) => known.toLowerCase() === one));
  const toggle = (name: string, on: boolean) => onDraft({ accessories: on ? [...draft.accessories, name] : draft.accessories.filter((one) => one !== name) });
  const add = () => {
    const name = other.trim();
    if (name !== "" && !draft.accessories.includes(name)) toggle(name, true);
    setOther("");
  };
  return (
    <div class="tick">
      {[...words.checkIn.accessories.map((one) => one.toLowerCase()), ...own].map((name) => (
        <label key={name}>
          <input type="checkbox" checked={draft.accessories.includes(name)} onInput={(event) => toggle(name, event.currentTarget.checked)} />
          {name.charAt(0).toUpperCase() + name.slice(1)}
        </label>
      ))}
      <input
        class="in"
        aria-label={words.checkIn.otherLabel}
        placeholder={words.checkIn.other}
        value={other}
        onInput={(event) => setOther(event.currentTarget.value)}
        onBlur={add}
        onKeyDown={(event) => {
          if (event.key !== "Enter" || other.trim() === "" || event.ctrlKey) return;
          event.preventDefault();
          event.stopPropagation();
          add();
        }}
      />
      <label>
        <input type="checkbox" checked={draft.oldPartsBack} onInput={(event) => onDraft({ oldPartsBack: event.currentTarget.checked })} />
        {words.checkIn.oldPartsBack}
      </label>
      <input class="in" aria-label={words.checkIn.loaner} placeholder={words.checkIn.loaner} autocomplete="off" value={draft.loanerNumber} onInput={(event) => onDraft({ loanerNumber: event.currentTarget.value })} />
    </div>
  );
}

/** The tag grows as fields are filled: it is the summary. */
function GrowingTag({ draft, photos }: { draft: CheckInDraft; photos: number }) {
  const customer = draft.customer === "new" ? draft.newCustomer.name : (draft.customer?.name ?? "");
  const owner = !draft.ownerApart ? "" : draft.owner === "new" ? draft.newOwner.name : (draft.owner?.name ?? "");
  const { newInstrument } = draft;
  const instrument = typeof draft.instrument === "object"
    ? [instrumentWords(draft.instrument, words.families), draft.instrument.serial_number].filter(Boolean).join(" ")
    : newInstrument.family === "" ? "" : [instrumentWords({ ...newInstrument, family: newInstrument.family }, words.families), newInstrument.serial_number].filter(Boolean).join(" ");
  const marks = countMarks(draft.marks);
  return (
    <div class="big-tag" role="group" aria-label={words.checkIn.tag}>
      <p class="number none">{words.checkIn.tagNumber}</p>
      <p><b>{instrument === "" ? words.checkIn.tagNothing : instrument}</b></p>
      <p>{draft.promisedOn === "" ? (customer === "" ? words.checkIn.tagNobody : customer) : words.checkIn.tagLine(customer === "" ? words.checkIn.tagNobody : customer, dayWords(draft.promisedOn))}</p>
      {owner !== "" && <p>{words.checkIn.tagOwner(owner)}</p>}
      {(draft.accessories.length > 0 || marks > 0) && <p>{words.checkIn.tagMarks(draft.accessories, marks)}</p>}
      {photos > 0 && <p>{words.photos.afterCheckIn(photos)}</p>}
    </div>
  );
}

function StillNeeded({ missing, onJump }: { missing: Missing[]; onJump: (step: number) => void }) {
  if (missing.length === 0) return null;
  const said = (what: Missing["what"]) =>
    what === "amount" || what === "fee" ? words.checkIn.noAmount(shopHere().currency) : what === "past" ? words.checkIn.plannedPast : words.checkIn.needs[what];
  return (
    <div class="missing" role="alert">
      <b>{words.checkIn.missing}</b>
      <ul>{missing.map((one) => <li key={one.what}><button type="button" class="link" onClick={() => onJump(one.step)}>{said(one.what)}</button></li>)}</ul>
    </div>
  );
}
