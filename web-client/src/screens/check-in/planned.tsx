import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, Money, NewOrdersForecast } from "../../api/shapes";
import { TextField } from "../../elements/form";
import { asksWhy, type CheckInDraft } from "../../shop/check-in-draft";
import { addDays, dayWords, markDateWords } from "../../shop/dates";
import { moneyWords, readAmount } from "../../shop/money";
import { firstWith, readyBy, stacksOf, USUAL_OF_TWENTY } from "../../shop/twenty";
import { shopHere } from "../../store";
import { words } from "../../words";

const REST_MS = 350;

export type PlanForecast = NewOrdersForecast["orders"][number] & Pick<NewOrdersForecast, "basis" | "orders_before_count">;

/** When an order like this would be ready; asked again when the instrument or the amount changes. */
export function useForecast(family: Family | undefined, mayCost: string): PlanForecast | undefined {
  const [told, setTold] = useState<{ of: string; forecast: PlanForecast }>();
  const { currency } = shopHere();
  const amount = readAmount(mayCost, currency);
  const of = `${family ?? ""} ${amount ?? ""}`;
  useEffect(() => {
    if (family === undefined) return;
    const ending = new AbortController();
    const may_cost: Money | undefined = amount === undefined ? undefined : { amount, currency };
    const timer = setTimeout(() => {
      void calls.forecast.ofNew({ orders: [{ family, ...(may_cost === undefined ? {} : { may_cost }) }] }, ending.signal).then((answer) => {
        const first = answer.kind === "ok" ? answer.value.orders[0] : undefined;
        if (answer.kind === "ok" && first !== undefined && !ending.signal.aborted) {
          const { basis, orders_before_count } = answer.value;
          setTold({ of, forecast: { ...first, basis, orders_before_count } });
        }
      });
    }, REST_MS);
    return () => {
      clearTimeout(timer);
      ending.abort();
    };
  }, [of]);
  // The last answer stands until the next is there, unless it is about another kind of instrument.
  return family !== undefined && told?.forecast.family === family ? told.forecast : undefined;
}

/** What similar jobs cost: beside the field, never in it. */
export function SimilarCost({ forecast }: { forecast: PlanForecast | undefined }) {
  const cost = forecast?.similar_cost;
  if (cost == null) return null;
  return <>{words.checkIn.similar(moneyWords(cost.low), moneyWords(cost.high), moneyWords(cost.middle), cost.count)}</>;
}

/** The day that is told to the customer, with the twenty likely outcomes. */
export function Planned({ draft, onDraft, forecast, today, openDays, fault, reasonFault }: {
  draft: CheckInDraft;
  onDraft: (change: Partial<CheckInDraft>) => void;
  forecast: PlanForecast | undefined;
  today: string;
  openDays: readonly string[];
  fault: string | undefined;
  reasonFault: string | undefined;
}) {
  const dates = forecast?.twenty ?? [];
  const opening = firstWith(dates, USUAL_OF_TWENTY);
  // What the program put in may be changed by the program; what a person chose may not.
  const opened = useRef("");
  useEffect(() => {
    if (opening === undefined || (draft.promisedOn !== "" && draft.promisedOn !== opened.current)) return;
    opened.current = opening;
    if (draft.promisedOn !== opening) onDraft({ promisedOn: opening });
  }, [opening, draft.promisedOn === ""]);
  const count = draft.promisedOn === "" ? undefined : readyBy(dates, draft.promisedOn);
  const known = dates.length > 0 && count !== undefined;
  const plannedWords = draft.promisedOn === "" ? words.checkIn.plannedNone : <PlannedWords day={draft.promisedOn} today={today} openDays={openDays} />;
  return (
    <div class={dates.length > 0 ? "planned sheet" : "planned"}>
      <div class="day-row">
        <TextField
          label={words.checkIn.planned}
          hideLabel
          type="date"
          class="day"
          min={today}
          value={draft.promisedOn}
          fault={fault}
          onInput={(event) => onDraft({ promisedOn: event.currentTarget.value })}
          onKeyDown={(event) => {
            if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
            event.preventDefault();
            onDraft({ promisedOn: anotherDay(draft.promisedOn, event.key === "ArrowUp" ? 1 : -1, today, openDays) });
          }}
        />
        <p class="quiet">
          {known && <span class="of-twenty" role="status">{words.checkIn.ofTwenty(count)} </span>}
          {!known && plannedWords}{" "}
          <span class="by-key"><kbd>↑</kbd> <kbd>↓</kbd> {words.checkIn.plannedHelp}</span>
        </p>
      </div>
      {known && <p>{plannedWords}</p>}
      {known && asksWhy(count) && (
        <div class="stack why-so-soon">
          <TextField label={words.checkIn.promiseReason} value={draft.promiseReason} fault={reasonFault} onInput={(event) => onDraft({ promiseReason: event.currentTarget.value })} />
          <div class="marks">
            {words.checkIn.promiseReasons.map((reason) => (
              <button key={reason} type="button" aria-pressed={draft.promiseReason === reason} onClick={() => onDraft({ promiseReason: reason })}>{reason}</button>
            ))}
          </div>
        </div>
      )}
      {dates.length > 0 && forecast !== undefined && (
        <>
          <TwentyDots dates={dates} chosen={draft.promisedOn} />
          {/* Where a reason is asked, the reason's fields take its room: everything stays in sight. */}
          <p class={known && asksWhy(count) ? "quiet small roomy-only" : "quiet small"}>
            {forecast.basis.kind === "typical" && <b>{words.checkIn.typical} </b>}
            {words.checkIn.dotsSay(forecast.basis.people_count, forecast.orders_before_count)}
          </p>
        </>
      )}
    </div>
  );
}

function PlannedWords({ day, today, openDays }: { day: string; today: string; openDays: readonly string[] }) {
  const last = openDays.at(-1) ?? "9999";
  if (day < today) return <><b>{dayWords(day)}</b>. {words.checkIn.plannedPast}</>;
  return (
    <>
      <b>{dayWords(day)}</b>
      {openDays.includes(day) ? `, ${words.checkIn.plannedIn(openDays.filter((one) => one < day && one >= today).length)}.` : day > last ? "." : `. ${words.checkIn.plannedClosed}`}
    </>
  );
}

const MOST_STACKS = 8;
const [STEP, ROW, FOOT, RADIUS] = [42, 13, 26, 5.2];

/** One dot for each likely outcome, over its date; those on or before the day chosen are filled. */
function TwentyDots({ dates, chosen }: { dates: readonly string[]; chosen: string }) {
  const stacks = stacksOf(dates, chosen, MOST_STACKS);
  const highest = Math.max(...stacks.map((one) => one.count));
  const [width, height] = [stacks.length * STEP, highest * ROW + FOOT];
  const floor = height - FOOT;
  // No stack lies across the day chosen, so the plumb line parts the filled dots from the others.
  const reached = stacks.filter((one) => one.to <= chosen).length;
  return (
    <svg class="dots" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
      <path class="axis" d={`M0 ${floor}H${width}`} />
      {chosen !== "" && <path class="plumb" d={`M${reached * STEP} 0V${floor + 8}m-4 -5l4 7l4 -7z`} />}
      {stacks.map((stack, at) => (
        <g key={stack.from}>
          {Array.from({ length: stack.count }, (_, i) => (
            <circle key={i} class={i < stack.filled ? "full" : ""} cx={at * STEP + STEP / 2} cy={floor - 7 - i * ROW} r={RADIUS} />
          ))}
          <text x={at * STEP + STEP / 2} y={height - 8} class={stack.to === chosen ? "on" : ""}>{markDateWords(stack.to)}</text>
        </g>
      ))}
    </svg>
  );
}

/** The next or the previous open day; days beyond the known ones are taken one by one. */
function anotherDay(from: string, step: 1 | -1, today: string, openDays: readonly string[]): string {
  const start = from === "" ? today : from;
  const known = step > 0 ? openDays.find((day) => day > start) : openDays.findLast((day) => day < start);
  if (known !== undefined) return known;
  const next = addDays(start, step);
  return next < today ? start : next;
}
