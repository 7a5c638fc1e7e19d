import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import { fetchBoard } from "../../app";
import type { Hold, HoldReason, Move, OpenQuestion, WorkOrder } from "../../api/shapes";
import { Button } from "../../elements/button";
import { Chip } from "../../elements/chip";
import { AreaField, isOneOf, keysOf, Options, SelectField, TextField, textIn } from "../../elements/form";
import { PhoneLink } from "../../elements/phone-link";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, useAct } from "../../elements/use-act";
import { dayWords, momentWords } from "../../shop/dates";
import { lookAgainDay } from "../../shop/open-days";
import { waysOn, type Place } from "../../shop/ways";
import { board, iMay, personHere, shopHere, todayHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

const ADDRESSES: Record<Place, string> = { quote: "quote", extra: "quote", answer: "quote?say=answer", mistake: "quote?say=mistake", test: "tests", handover: "handover" };

/** Whose turn it is, who has it, and what may come next. */
export function Next({ order, reload, part }: PartProps & { part: string }) {
  const ways = waysOn(order.moves);
  const zone = shopHere().time_zone;
  const since = momentWords(order.stage_since, zone, new Date());
  return (
    <>
      <h2 class="vh">{words.order.next}</h2>
      {order.waits_for && (
        <div class="turn">
          <Chip turn={order.waits_for} />
          <b>{words.turns[order.waits_for]}</b>
          <span class="quiet">{order.waiting_words}</span>
        </div>
      )}
      {order.open_question && <Question order={order} question={order.open_question} />}
      {order.ending && <EndingNote order={order} reload={reload} part={part} />}
      {order.holds.filter((hold) => !hold.lifted_at).map((hold) => <HoldNote key={hold.id} hold={hold} reload={reload} />)}
      {order.stage !== "closed" && <Claim order={order} reload={reload} since={since} />}
      {order.stage === "intake" && iMay("front_desk") && iMay("technician") && (
        <a class="btn" href={`/work-orders/${order.claim_number}/done-at-counter`}>{words.atCounter.link}</a>
      )}
      <Moves order={order} reload={reload} part={part} {...ways} />
      {order.stage !== "closed" && <Rest order={order} reload={reload} />}
    </>
  );
}

/** What the owner asks, and how it is answered: there is no act for that, a telephone is enough. */
function Question({ order, question }: { order: WorkOrder; question: OpenQuestion }) {
  const { owner } = order;
  return (
    <div class="heed stack">
      <p><b>{words.order.question(question.asked_by, momentWords(question.asked_at, shopHere().time_zone, new Date()))}</b></p>
      <blockquote>{question.text}</blockquote>
      <p class="quiet">{words.order.questionDo(owner.name)}</p>
      <div class="row">
        {owner.phone && <PhoneLink class="btn" phone={owner.phone}>{words.order.questionRing(owner.phone)}</PhoneLink>}
        {owner.email && <a class="btn" href={`mailto:${owner.email}?subject=${encodeURIComponent(order.claim_number)}`}>{words.order.questionMail}</a>}
        <a class="btn" href={`/work-orders/${order.claim_number}/quote`}>{words.order.questionQuote}</a>
      </div>
    </div>
  );
}

function Claim({ order, reload }: PartProps & { since: string }) {
  const act = useAct();
  const [handing, setHanding] = useState(false);
  const me = personHere();
  const isMine = order.claimed_by?.id === me.id;
  const others = (board.value?.board.people ?? []).filter((one) => one.id !== order.claimed_by?.id);
  async function hand(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    await act.run(() => calls.orders.claim(order.id, order.version, { for: textIn(form, "for"), reason: textIn(form, "reason") }), async () => {
      setHanding(false);
      await reload();
    });
  }
  return (
    <>
      {order.claimed_by ? (
        <div class="row">
          <span class="grow">{words.order.claimedBy(order.claimed_by.name, order.claimed_at ? momentWords(order.claimed_at, shopHere().time_zone, new Date()) : "")}</span>
          {isMine && (
            <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.orders.giveBack(order.id, order.version), reload)}>
              {words.order.giveBack}
            </Button>
          )}
        </div>
      ) : iMay("technician") && (
        <Button type="button" class="btn main" busy={act.busy} onClick={() => void act.run(() => calls.orders.claim(order.id, order.version), reload)}>
          {words.order.claim}
        </Button>
      )}
      {!isMine && order.claimed_by && me.roles.includes("proprietor") && others.length > 0 && (
        handing ? (
          <form class="reason" onSubmit={(event) => void hand(event)}>
            <SelectField label={words.order.handToWho} name="for">
              {others.map((one) => <option key={one.id} value={one.id}>{one.name}</option>)}
            </SelectField>
            <TextField label={words.order.why} name="reason" required />
            <div class="row">
              <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
              <button type="button" class="link" onClick={() => { act.clear(); setHanding(false); }}>{words.common.cancel}</button>
            </div>
          </form>
        ) : (
          <button type="button" class="link" onClick={() => setHanding(true)}>{words.order.handTo}</button>
        )
      )}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
    </>
  );
}

function Moves({ order, reload, part = "", acts = [], moves, notYet = [], quiet = false }: PartProps & { part?: string; acts?: readonly Place[]; moves: readonly Move[]; notYet?: readonly Move[]; quiet?: boolean }) {
  const act = useAct();
  const [asking, setAsking] = useState<Move>();
  const go = (move: Move, reason?: string) =>
    act.run(
      (once) => calls.orders.move(order.id, { to: move.to, because: move.because, ...(reason === undefined ? {} : { reason }) }, once, order.version),
      async () => {
        setAsking(undefined);
        await reload();
      },
    );
  // What is done on the part that is open stands there itself.
  const elsewhere = acts.filter((place) => ADDRESSES[place].split("?")[0] !== part);
  const main = acts.every((place) => place === "mistake") && !quiet ? moves[0] : undefined;
  return (
    <>
      {elsewhere.filter((place) => place !== "mistake").map((place) => (
        <a key={place} class="btn main" href={`/work-orders/${order.claim_number}/${ADDRESSES[place]}`}>{words.order.useAct[place]}</a>
      ))}
      {moves.map((move) =>
        asking?.because === move.because && asking.to === move.to ? (
          <ReasonPicker
            key={move.because}
            title={`${words.moves[move.because] ?? sentence(move.words)}: ${words.order.why.toLowerCase()}?`}
            reasons={words.reasons[move.because] ?? []}
            busy={act.busy}
            onReason={(reason) => void go(move, reason)}
            onLeave={() => setAsking(undefined)}
          />
        ) : (
          <Button
            key={move.because}
            type="button"
            class={quiet ? "link" : move === main ? "btn main" : "btn"}
            busy={act.busy}
            onClick={() => (move.needs_reason ? setAsking(move) : void go(move))}
          >
            {words.moves[move.because] ?? sentence(move.words)}
          </Button>
        ),
      )}
      {elsewhere.includes("mistake") && <a class="link" href={`/work-orders/${order.claim_number}/${ADDRESSES.mistake}`}>{words.order.useAct.mistake}</a>}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      {notYet.length > 0 && (
        <ul class="not-yet">
          {notYet.map((move) => (
            <li key={move.because + move.to}><b>{words.moves[move.because] ?? sentence(move.words)}:</b> <span class="quiet">{move.why_not}</span></li>
          ))}
        </ul>
      )}
    </>
  );
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function EndingNote({ order, reload, part }: PartProps & { part: string }) {
  const act = useAct();
  const ending = order.ending;
  if (!ending) return null;
  const move = order.moves.find((one) => one.because === ending.because);
  // Whoever may not confirm is told who does, not what is in that person's way.
  const isTogether = !iMay("technician") || (move?.may ?? true);
  const isPlanned = order.operations.some((one) => one.kind === "put_together" && one.state !== "struck" && one.state !== "done");
  return (
    <div class="reason">
      <p><b>{words.order.ending(isOneOf(words.order.endings, ending.because) ? words.order.endings[ending.because] : sentence(ending.because.replaceAll("_", " ")), ending.reason ?? "")}</b> {ending.awaits_confirmation ? words.order.endingWaits : ""}</p>
      {ending.awaits_confirmation && (
        <>
          {isTogether ? (
            iMay("technician") ? (
              <Button type="button" class="btn main" busy={act.busy} onClick={() => void act.run((once) => calls.orders.confirmEnd(order.id, once, order.version), reload)}>{words.order.endingConfirm}</Button>
            ) : <p class="quiet">{words.order.endingTechnician}</p>
          ) : (
            <>
              {move?.why_not && <p class="quiet">{move.why_not}</p>}
              {!(isPlanned && part === "work") && <a class="btn main" href={`/work-orders/${order.claim_number}/work${isPlanned ? "" : "?plan=put_together"}`}>{isPlanned ? words.order.endingWork : words.order.endingPlan}</a>}
            </>
          )}
          <Button type="button" class="link" busy={act.busy} onClick={() => void act.run(() => calls.orders.takeEndBack(order.id, order.version), reload)}>{words.order.endingTakeBack}</Button>
        </>
      )}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
    </div>
  );
}

function HoldNote({ hold, reload }: { hold: Hold; reload: () => Promise<void> }) {
  const act = useAct();
  const zone = shopHere().time_zone;
  return (
    <div class="heed">
      <p>
        <b>{words.order.held(words.holdReasons[hold.reason], momentWords(hold.set_at, zone, new Date()))}</b>
        {hold.look_again_on ? ` · ${words.order.heldLook(dayWords(hold.look_again_on))}` : ""}
        {hold.supplier ? ` · ${words.order.heldAt(hold.supplier, hold.order_number ?? undefined)}` : ""}
        {hold.expected_on ? ` · ${words.order.heldExpected(dayWords(hold.expected_on))}` : ""}
        {hold.note ? ` · ${hold.note}` : ""}
      </p>
      <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.holds.lift(hold.id, hold.order_version), reload)}>{words.order.lift}</Button>
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
    </div>
  );
}

type EndingName = keyof typeof words.order.endings;

/** What is rarely wanted: a hold, the end before its time. */
function Rest({ order, reload }: PartProps) {
  const [open, setOpen] = useState<"hold" | "end">();
  const act = useAct();
  const [because, setBecause] = useState<EndingName>("withdrawn");
  const [heldFor, setHeldFor] = useState<HoldReason>("parts");
  // The wish is recorded at once; only the move itself may have to wait until nothing is apart.
  const endings = keysOf(words.order.endings).filter((one) => one !== "declined" && order.moves.some((move) => move.because === one));
  // What waits for somebody outside the house says for whom; it stays written while another reason is looked at.
  const isOutside = heldFor === "parts" || heldFor === "outside_work";
  /** What was refused belongs to what was left. */
  function leave() {
    act.clear();
    setOpen(undefined);
  }
  /** The day that is proposed has to be one on which the shop is open: the board knows which are. */
  async function openHold() {
    if (board.value === undefined) await fetchBoard();
    setOpen("hold");
  }
  async function hold(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const reason = textIn(form, "reason");
    if (!isOneOf<HoldReason>(words.holdReasons, reason)) return;
    const said = (name: "supplier" | "order_number" | "expected_on" | "note") => {
      const text = name === "note" || isOutside ? textIn(form, name) : "";
      return text === "" ? {} : { [name]: text };
    };
    await act.run(
      (once) => calls.orders.hold(order.id, { reason, look_again_on: textIn(form, "look_again_on"), ...said("supplier"), ...said("order_number"), ...said("expected_on"), ...said("note") }, once),
      async () => {
        setOpen(undefined);
        await reload();
      },
    );
  }
  return (
    <>
      {open === undefined && (
        <div class="row">
          <button type="button" class="link" onClick={() => void openHold()}>{words.order.hold}</button>
          {order.ending == null && endings.length > 0 && <button type="button" class="link" onClick={() => setOpen("end")}>{words.order.endEarly}</button>}
        </div>
      )}
      {open === undefined && <Moves order={order} reload={reload} moves={waysOn(order.moves).rare} quiet />}
      {open === "hold" && (
        <form class="reason" onSubmit={(event) => void hold(event)}>
          <h3>{words.order.holdTitle}</h3>
          <SelectField
            label={words.order.holdFor}
            name="reason"
            value={heldFor}
            onInput={(event) => {
              const { value } = event.currentTarget;
              if (isOneOf<HoldReason>(words.holdReasons, value)) setHeldFor(value);
            }}
          ><Options of={words.holdReasons} /></SelectField>
          <div class="stack" hidden={!isOutside}>
            <TextField label={words.order.holdSupplier} name="supplier" required={isOutside} fault={faultAt(act.refusal, "/supplier")} />
            <TextField label={words.order.holdOrderNumber} name="order_number" fault={faultAt(act.refusal, "/order_number")} />
            <TextField label={words.order.holdExpected} name="expected_on" type="date" {...(isOutside ? { min: todayHere() } : {})} fault={faultAt(act.refusal, "/expected_on")} />
          </div>
          <TextField label={words.order.holdLook} name="look_again_on" type="date" required min={todayHere()} defaultValue={lookAgainDay(todayHere(), board.value?.board.open_days ?? [])} fault={faultAt(act.refusal, "/look_again_on")} />
          <AreaField label={words.order.holdNote} name="note" fault={faultAt(act.refusal, "/note")} />
          <div class="row">
            <Button class="btn main" busy={act.busy}>{words.order.setHold}</Button>
            <button type="button" class="link" onClick={leave}>{words.common.cancel}</button>
          </div>
        </form>
      )}
      {open === "end" && (
        <>
          <SelectField
            label={words.order.endWhy}
            value={because}
            onInput={(event) => {
              const { value } = event.currentTarget;
              if (isOneOf(words.order.endings, value)) setBecause(value);
            }}
          >
            {endings.map((one) => <option key={one} value={one}>{words.order.endings[one]}</option>)}
          </SelectField>
          <ReasonPicker
            title={words.order.endTitle}
            reasons={words.reasons[because] ?? []}
            busy={act.busy}
            onReason={(reason) => void act.run((once) => calls.orders.end(order.id, { because, reason }, once, order.version), async () => {
              setOpen(undefined);
              await reload();
            })}
            onLeave={leave}
          />
        </>
      )}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
    </>
  );
}
