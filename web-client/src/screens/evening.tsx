import { useEffect, useState } from "preact/hooks";
import { fetchBoard } from "../app";
import * as calls from "../api/calls";
import type { BoardOrder, Evening as Day, Flame, Forecast, LetterBack, LikelyLate } from "../api/shapes";
import { Button } from "../elements/button";
import { Chip } from "../elements/chip";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { PhoneLink } from "../elements/phone-link";
import { RefusalNote } from "../elements/refusal-note";
import { useAct, type Refusal } from "../elements/use-act";
import { useKeys } from "../elements/use-keys";
import { useReadAnew } from "../elements/use-read-anew";
import { useArrival, useTitle } from "../elements/use-title";
import { addDays, clockWords, dateAt, dayNumberWords, dayWords, longDayWords, shortDateWords } from "../shop/dates";
import { eveningScale, holdsToLookAt, longOnShelf, needsAnotherLook, placeOn } from "../shop/evening";
import { nextOpenDay } from "../shop/open-days";
import { board, lastChange, shopHere, todayHere } from "../store";
import { words } from "../words";

/** So long an instrument may stand on the shelf before the evening speaks of it. */
const LONG_ON_SHELF_DAYS = 10;

/** Ten minutes before locking up: which promises are likely to be missed, what would help, and what else there is. */
export function Evening() {
  useTitle(words.evening.title);
  useArrival();
  const [forecast, setForecast] = useState<Forecast>();
  const [day, setDay] = useState<Day>();
  const [refusal, setRefusal] = useState<Refusal>();
  const [dayRefusal, setDayRefusal] = useState<Refusal>();
  const shop = shopHere();
  const shown = board.value?.board;
  async function fetchForecast() {
    const answer = await calls.forecast.all();
    if (answer.kind === "ok") setForecast(answer.value);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  }
  async function fetchDay() {
    const answer = await calls.evening.day();
    if (answer.kind === "ok") setDay(answer.value);
    setDayRefusal(answer.kind === "ok" ? undefined : answer);
  }
  const [boardRefusal, setBoardRefusal] = useState<Refusal>();
  useEffect(() => setBoardRefusal(undefined), [board.value]);
  const fetchShown = async () => setBoardRefusal(await fetchBoard());
  const fetchAll = () => Promise.all([fetchShown(), fetchForecast(), fetchDay()]);
  useEffect(() => void fetchAll(), []);
  // Every change is followed by the board; the dates come with a change of their own.
  const change = lastChange.value;
  useEffect(() => {
    if (change === undefined) return;
    void (change.kind === "forecast" ? fetchForecast() : fetchDay());
  }, [change]);
  useReadAnew(() => void Promise.all([fetchForecast(), fetchDay()]));
  useKeys({ p: () => print() });
  const today = shown?.today ?? todayHere();
  const orders = shown?.orders ?? [];
  const back = day?.letters_back.length ?? 0;
  return (
    <div class="page evening">
      <Head at="evening" />
      <LineStrip onAgain={() => void fetchAll()} />
      <main id="main" class="eve" tabIndex={-1}>
        <header class="row">
          <h1>{words.evening.heading(longDayWords(today))}</h1>
          <span class="quiet grow">
            {shown !== undefined && words.evening.open(orders.length, orders.filter((one) => one.stage === "pickup").length)}
            {day !== undefined && <> · {words.evening.day(day.came_in_count, day.left_count, day.letters_sent_count)}{back > 0 && <>, <a href="#back-title">{words.evening.cameBack(back)}</a></>}</>}
          </span>
          <button type="button" class="btn" onClick={() => print()}>{words.evening.print} <kbd>P</kbd></button>
        </header>
        <div class="ledger">
          <section aria-labelledby="late-title">
            {/* What was fetched before stays in sight; that it could not be fetched anew is said all the same. */}
            <NotFetched refusal={refusal} what={words.evening.notFetched.late} onAgain={() => void fetchAll()} />
            {forecast !== undefined ? <Late forecast={forecast} today={today} openDays={shown?.open_days ?? []} /> : refusal === undefined && <p role="status" class="quiet">{words.common.fetching}</p>}
          </section>
          <section aria-labelledby="also-title">
            <h2 id="also-title">{words.evening.also}</h2>
            <NotFetched refusal={boardRefusal} what={words.evening.notFetched.board} onAgain={() => void fetchAll()} />
            <NotFetched refusal={dayRefusal} what={words.evening.notFetched.day} onAgain={() => void fetchAll()} />
            {(shown === undefined && boardRefusal === undefined || day === undefined && dayRefusal === undefined) && <p role="status" class="quiet">{words.common.fetching}</p>}
            <dl class="also">
              {shown !== undefined && <>
                <Shelf orders={longOnShelf(orders, today, LONG_ON_SHELF_DAYS, (instant) => dateAt(instant, shop.time_zone))} />
                <Holds orders={holdsToLookAt(orders, today, shown.open_days)} />
              </>}
              {day !== undefined && <><Back letters={day.letters_back} /><Flames day={day} zone={shop.time_zone} onLooked={fetchDay} /></>}
              {forecast !== undefined && forecast.nobody_can.length > 0 && (
                <div><dt>{words.evening.nobodyCan}</dt><dd>{forecast.nobody_can.map((number) => <OrderLink key={number} number={number} />)}</dd></div>
              )}
            </dl>
          </section>
        </div>
      </main>
      <Thumb at="evening" />
    </div>
  );
}

/** Says that something could not be fetched, so that a gap is not taken for an empty day. */
function NotFetched({ refusal, what, onAgain }: { refusal: Refusal | undefined; what: string; onAgain: () => void }) {
  if (refusal === undefined) return null;
  return (
    <>
      <p><b>{what}</b></p>
      <RefusalNote refusal={refusal} />
      <p><button type="button" class="link" onClick={onAgain}>{words.line.again}</button></p>
    </>
  );
}

function OrderLink({ number }: { number: string }) {
  return <a class="no" href={`/work-orders/${number}`}>{number}</a>;
}

function Ring({ phone }: { phone: string }) {
  return <PhoneLink phone={phone}>{words.evening.ring(phone)}</PhoneLink>;
}

function Shelf({ orders }: { orders: readonly { order: BoardOrder; days: number }[] }) {
  return (
    <div>
      <dt>{words.evening.shelf(LONG_ON_SHELF_DAYS)}</dt>
      <dd>
        {orders.length === 0 && words.evening.none}
        <ul>
          {orders.map(({ order, days }) => (
            <li key={order.id}>
              <span><OrderLink number={order.claim_number} /> {order.customer_name} · {words.families[order.family]}, {words.board.shelfSpoken(days)}</span>
              <span class="helps">{order.customer_phone && <Ring phone={order.customer_phone} />}<a href={`/work-orders/${order.claim_number}/letters`}>{words.evening.remind}</a></span>
            </li>
          ))}
        </ul>
      </dd>
    </div>
  );
}

function Holds({ orders }: { orders: readonly BoardOrder[] }) {
  return (
    <div>
      <dt>{words.evening.holds}</dt>
      <dd>
        {orders.length === 0 && words.evening.none}
        <ul>
          {orders.map((one) => (
            <li key={one.id}>
              <span><OrderLink number={one.claim_number} /> {one.customer_name} · {words.families[one.family]}{one.held_until ? `, ${words.order.heldLook(dayWords(one.held_until))}` : ""}</span>
            </li>
          ))}
        </ul>
      </dd>
    </div>
  );
}

function Back({ letters }: { letters: readonly LetterBack[] }) {
  return (
    <div>
      <dt id="back-title">{words.evening.back}</dt>
      <dd>
        {letters.length === 0 && words.evening.none}
        <ul>
          {letters.map((one) => (
            <li key={one.id}>
              <span><OrderLink number={one.claim_number} /> {one.to_name}{one.to_email ? `, ${one.to_email}` : ""}: “{one.subject}” <b>{words.letterStates[one.state]}</b>{one.state !== "unknown" && one.state_reason && <span class="quiet">, {one.state_reason}</span>}</span>
              <span class="helps"><a href={`/work-orders/${one.claim_number}/letters`}>{words.evening.backHelps[one.state]}</a>{one.phone && <Ring phone={one.phone} />}</span>
            </li>
          ))}
        </ul>
      </dd>
    </div>
  );
}

/** When the last flame went out, whether one still burns, and who looked at the bench. */
function Flames({ day: { burning, last_flame: last, bench_look: look }, zone, onLooked }: { day: Day; zone: string; onLooked: () => Promise<void> }) {
  const act = useAct();
  const clock = (instant: string) => clockWords(instant, zone);
  const stale = look != null && needsAnotherLook(look.at, last?.at, burning.length);
  const who = (flame: Flame) => <>{words.evening.flameStep(flame.step, flame.by.name)} · <OrderLink number={flame.claim_number} /></>;
  return (
    <div>
      <dt>{words.evening.flame}</dt>
      <dd class="flames">
        <ul>
          {burning.map((one) => <li key={one.claim_number + one.at} class="heed"><span><b>{words.evening.burning(clock(one.at))}</b> {who(one)}</span></li>)}
          {last == null ? burning.length === 0 && <li>{words.evening.noFlame}</li> : <li><span><b>{clock(last.at)}</b> {who(last)}{last.to_check && `, ${words.evening.flameNotSure}`}</span></li>}
          {look != null && <li><span>{words.evening.lookedBy(clock(look.at), look.by.name)} {stale && <b>{words.evening.lookAgain}</b>}</span></li>}
        </ul>
        {(look == null || stale) && (
          <p class="look">
            <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run((once) => calls.evening.look(once), onLooked)}>{words.evening.looked}</Button>
            <span class="quiet">{words.evening.lookHelp}</span>
            <span class="look-line">{words.evening.lookLine}</span>
          </p>
        )}
        <RefusalNote refusal={act.refusal} />
      </dd>
    </div>
  );
}

/** So many days of the scale can be named. */
const DAYS_NAMED = 9;

function Late({ forecast, today, openDays }: { forecast: Forecast; today: string; openDays: readonly string[] }) {
  const { likely_late: late, basis } = forecast;
  const scale = eveningScale(today, openDays, late);
  const next = nextOpenDay(today, openDays);
  // As many days are named as have room beside each other.
  const everyDay = Math.ceil(scale.length / DAYS_NAMED);
  const outside = late.filter((one) => one.waits_for !== "shop").length;
  return (
    <>
      <div class="row">
        <h2 id="late-title" class="grow">{words.evening.likelyLate(late.length)}</h2>
        {late.length > 0 && (
          <span class="late-key quiet" aria-hidden="true">
            <span class="key-bar"><i /></span> {words.evening.keyBar} <Flag /> {words.evening.keyFlag}
          </span>
        )}
      </div>
      {forecast.as_of == null && <p class="quiet">{words.evening.noForecast}</p>}
      {late.length > 0 && (
        <ol class="late">
          <li class="scale-row" aria-hidden="true"><span class="who">{words.evening.heads.order}</span><span class="due">{words.evening.heads.promised}</span><span class="when">{scale.map((day, i) => (i % everyDay === 0 ? <b key={day} style={{ "--at": (i + 0.5) / scale.length }}>{dayNumberWords(day)}</b> : null))}</span><span class="why">{words.evening.heads.why}</span></li>
          {late.map((one) => <LateRow key={one.order.work_order_id} late={one} scale={scale} today={today} />)}
        </ol>
      )}
      {late.length > 1 && outside > 0 && <p><b>{words.evening.outside(outside, late.length)}</b> {next === addDays(today, 1) ? words.evening.outsideTomorrow : words.evening.outsideMore(next === undefined ? undefined : longDayWords(next))}</p>}
      {basis != null && (
        <p class="quiet small">
          {basis.kind === "typical" && <b>{words.checkIn.typical} </b>}
          {words.evening.basis(basis.closed_orders_count, basis.open_orders_count, basis.people_count, basis.held_orders_count ?? 0, basis.asked_again_count ?? 0)}
        </p>
      )}
    </>
  );
}

function LateRow({ late: { order, customer_name, instrument_words, waits_for, promise_reason, help, ring, ring_phone }, scale, today }: { late: LikelyLate; scale: readonly string[]; today: string }) {
  const address = `/work-orders/${order.claim_number}`;
  const from = placeOn(scale, order.ready_p50);
  const to = placeOn(scale, order.ready_p95);
  const safe = placeOn(scale, order.ready_p85);
  const flag = placeOn(scale, order.promised_on);
  const at = (place: number | "before" | "after") => (place === "before" ? 0 : place === "after" ? 1 : place);
  return (
    <li>
      <span class="who"><Chip turn={waits_for} turned /> <a class="no" href={address}>{order.claim_number}</a><br /><span class="quiet">{customer_name} · {instrument_words}{promise_reason && <><br />{words.evening.promiseReason(promise_reason)}</>}</span></span>
      <b class="due">{order.promised_on < today ? words.evening.past(shortDateWords(order.promised_on)) : shortDateWords(order.promised_on)}</b>
      <span class="when" aria-hidden="true" style={{ "--from": at(from), "--to": at(to), "--safe": at(safe), "--flag": at(flag) }}>
        {from !== "after" && <i class="bar-of" />}
        {typeof safe === "number" ? <i class="dot-of" /> : <i class="after-of" />}
        {flag === "before" ? <i class="before-of" /> : <span class={flag === "after" ? "flag-of beyond" : "flag-of"}><Flag /></span>}
      </span>
      <span class="vh">{words.evening.spoken(dayWords(order.ready_p50), dayWords(order.ready_p95), dayWords(order.ready_p85), words.board.likelyLateBy(order.likely_days_late))}</span>
      <span class="why">
        {help.why}<br />
        {ring_phone && help.kind !== "answer_owner" ? <>{help.kind === "tell_customer" && <>{words.evening.tellLater} </>}<PhoneLink phone={ring_phone}>{ring ? words.evening.ringName(ring.name, ring_phone) : words.evening.ring(ring_phone)}</PhoneLink></> : <a href={address}>{help.helps}</a>}
        {help.then && <><br /><span class="quiet">{help.then}</span></>}
      </span>
    </li>
  );
}

function Flag() {
  return <svg class="flag" width="12" height="18" viewBox="0 0 12 18" aria-hidden="true"><path d="M2 1v17M2 2h9v6h-9" fill="none" stroke="currentColor" stroke-width="2" /></svg>;
}
