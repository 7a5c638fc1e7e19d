import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Call, WorkOrder } from "../../api/shapes";
import { CallNote } from "../../elements/call-note";
import { momentWords } from "../../shop/dates";
import { shopHere } from "../../store";
import { ring } from "../../words/en-ring";

/** The telephone calls about an order, newest first, and a note of the next. */
export function CallsMade({ order }: { order: WorkOrder }) {
  const [made, setMade] = useState<readonly Call[]>([]);
  const [noting, setNoting] = useState<string>();
  useEffect(() => {
    void calls.ring.of(order.id).then((answer) => {
      if (answer.kind === "ok") setMade(answer.value.items.toReversed());
    });
  }, [order.id, order.version]);
  const people = order.owner.id === order.customer.id ? [order.customer] : [order.customer, order.owner];
  const whom = people.find((one) => one.id === noting);
  return (
    <section class="sheet stack" aria-labelledby="calls-title">
      <h2 id="calls-title">{ring.made}</h2>
      {made.length === 0 && <p class="quiet">{ring.noneMade}</p>}
      <ul class="stack">
        {made.map((call) => (
          <li key={call.id}>
            <b>{ring.outcomes[call.outcome]}</b> · {ring.callTo(call.customer_name, momentWords(call.at, shopHere().time_zone, new Date()), call.by.name)}
            {call.words && <><br />{call.words}</>}
          </li>
        ))}
      </ul>
      {whom === undefined
        ? <div class="row">{people.map((one) => <button key={one.id} type="button" class="btn" onClick={() => setNoting(one.id)}>{ring.noteCall(one.name)}</button>)}</div>
        : <CallNote order={order.id} whom={whom} onNoted={() => setNoting(undefined)} />}
    </section>
  );
}
