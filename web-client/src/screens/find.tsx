import { useLocation } from "preact-iso/router";
import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { readAnew } from "../api/line";
import type { Customer, OrderLine, Stage } from "../api/shapes";
import { Options, SelectField, isOneOf } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { PhoneLink } from "../elements/phone-link";
import { RefusalNote } from "../elements/refusal-note";
import { SlipNote } from "../elements/slip-note";
import type { Refusal } from "../elements/use-act";
import { useArrival, useTitle } from "../elements/use-title";
import { writtenClaimNumber } from "../shop/claim-number";
import { dateAt, dayWords } from "../shop/dates";
import { lastChange, shopHere } from "../store";
import { words } from "../words";

const REST_MS = 200;
const A_PAGE = 30;

/** Work orders and customers, searched by whatever is known: number, name, telephone, serial. */
export function Find() {
  useTitle(words.find.title);
  useArrival();
  const { query, route } = useLocation();
  const q = query["q"] ?? "";
  const stage = query["stage"] ?? "";
  const [orders, setOrders] = useState<OrderLine[]>();
  const [customers, setCustomers] = useState<Customer[]>([]);
  const [next, setNext] = useState<string>();
  const [refusal, setRefusal] = useState<Refusal>();
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined);
  const [changed, missed] = [lastChange.value, readAnew.value];

  useEffect(() => {
    const ending = new AbortController();
    void calls.orders.list({ q, stage, limit: A_PAGE }, ending.signal).then((answer) => {
      if (ending.signal.aborted) return;
      if (answer.kind !== "ok") return setRefusal(answer);
      setRefusal(undefined);
      setOrders(answer.value.items);
      setNext(answer.value.next ?? undefined);
    });
    if (q === "") setCustomers([]);
    else {
      void calls.customers.search(q, 8, ending.signal).then((answer) => {
        if (answer.kind === "ok" && !ending.signal.aborted) setCustomers(answer.value.items);
      });
    }
    return () => ending.abort();
  }, [q, stage, changed, missed]);

  const go = (to: { q: string; stage: string }) => {
    const set = Object.entries(to).flatMap(([name, value]) => (value === "" ? [] : [`${name}=${encodeURIComponent(value)}`]));
    route(`/work-orders${set.length === 0 ? "" : `?${set.join("&")}`}`, true);
  };
  async function more() {
    const answer = await calls.orders.list({ q, stage, limit: A_PAGE, ...(next === undefined ? {} : { cursor: next }) });
    if (answer.kind !== "ok") return setRefusal(answer);
    setOrders([...(orders ?? []), ...answer.value.items]);
    setNext(answer.value.next ?? undefined);
  }
  return (
    <div class="page plain-page">
      <Head
        at="workOrders"
        q={q}
        onSearch={(typed) => {
          clearTimeout(timer.current);
          timer.current = setTimeout(() => go({ q: typed.trim(), stage }), REST_MS);
        }}
      />
      <LineStrip onAgain={() => go({ q, stage })} />
      <main id="main" tabIndex={-1}>
        <div class="filters">
          <h1>{words.find.title}</h1>
          <SelectField label={words.find.stage} hideLabel value={stage} onInput={(event) => {
            const { value } = event.currentTarget;
            go({ q, stage: isOneOf<Stage>(words.stages, value) ? value : "" });
          }}>
            <option value="">{words.find.all}</option>
            <Options of={words.stages} chosen={stage} />
          </SelectField>
          {q === "" && <span class="quiet">{words.find.recent}</span>}
        </div>
        <RefusalNote refusal={refusal} />
        {orders !== undefined && !orders.some((order) => order.claim_number === writtenClaimNumber(q)) && <SlipNote typed={q} />}
        {customers.length > 0 && (
          <section>
            <h2>{words.find.customers}</h2>
            <ul class="entries">
              {customers.map((one) => (
                <li key={one.id}>
                  <span class="grow"><a href={`/work-orders?q=${encodeURIComponent(one.name)}`}><b>{one.name}</b></a> · {words.customerKinds[one.kind]} · {words.checkIn.visits(one.visits_count)}</span>
                  {one.phone && <PhoneLink phone={one.phone} />}
                  {one.email && <a href={`mailto:${one.email}`}>{one.email}</a>}
                </li>
              ))}
            </ul>
          </section>
        )}
        {orders !== undefined && orders.length === 0 && customers.length === 0 && (
          <p><b>{words.find.none(q === "" ? words.stages[isOneOf<Stage>(words.stages, stage) ? stage : "intake"] : q)}</b> {words.find.noneMore}</p>
        )}
        {orders !== undefined && orders.length > 0 && <Orders orders={orders} />}
        {next !== undefined && <button type="button" class="btn" onClick={() => void more()}>{words.find.more}</button>}
      </main>
      <Thumb at="workOrders" />
    </div>
  );
}

function Orders({ orders }: { orders: readonly OrderLine[] }) {
  const { columns } = words.find;
  return (
    <table class="table">
      <thead>
        <tr>{[columns.number, columns.customer, columns.instrument, columns.stage, columns.since, columns.promised].map((name) => <th key={name} scope="col">{name}</th>)}</tr>
      </thead>
      <tbody>
        {orders.map((order) => (
          <tr key={order.id}>
            <td><a class="no" href={`/work-orders/${order.claim_number}`}>{order.claim_number}</a></td>
            <td>{order.customer_name}</td>
            <td>{order.instrument_words}</td>
            <td>{words.stages[order.stage]}</td>
            <td>{dayWords(dateAt(order.checked_in_at, shopHere().time_zone))}</td>
            <td>{order.stage === "closed" ? "" : dayWords(order.promised_on)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
