import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Call, WorkOrder } from "../../api/shapes";
import { CallNote } from "../../elements/call-note";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { type Refusal, useAct } from "../../elements/use-act";
import { useReadAnew } from "../../elements/use-read-anew";
import { momentWords } from "../../shop/dates";
import { shopHere } from "../../store";
import { words } from "../../words";
import { ring } from "../../words/en-ring";

/** The telephone calls about an order, newest first, and a note of the next. */
export function CallsMade({ order }: { order: WorkOrder }) {
  const [made, setMade] = useState<readonly Call[]>();
  const [refusal, setRefusal] = useState<Refusal>();
  const [noting, setNoting] = useState<string>();
  const [noted, setNoted] = useState("");
  const latest = useRef(0);
  async function fetchCalls() {
    latest.current += 1;
    const mine = latest.current;
    const answer = await calls.ring.of(order.id);
    // A slower, earlier answer must not overwrite a later one.
    if (mine !== latest.current) return;
    if (answer.kind === "ok") setMade(answer.value.items.toReversed());
    setRefusal(answer.kind === "ok" ? undefined : answer);
  }
  useEffect(() => {
    void fetchCalls();
    return () => {
      latest.current += 1;
    };
  }, [order.id, order.version]);
  useReadAnew(() => void fetchCalls());
  const people = order.owner.id === order.customer.id ? [order.customer] : [order.customer, order.owner];
  const whom = people.find((one) => one.id === noting);
  return (
    <section class="sheet stack" aria-labelledby="calls-title">
      <h2 id="calls-title">{ring.made}</h2>
      {made === undefined && refusal === undefined && <p class="quiet" role="status">{words.common.fetching}</p>}
      <RefusalNote refusal={refusal} />
      {refusal !== undefined && <div><button type="button" class="btn" onClick={() => void fetchCalls()}>{ring.again}</button></div>}
      {made?.length === 0 && <p class="quiet">{ring.noneMade}</p>}
      <ul class="stack">
        {made?.map((call) => <Made key={call.id} call={call} onStruck={() => void fetchCalls()} />)}
      </ul>
      <p role="status">{noted}</p>
      {whom === undefined
        ? <div class="row">{people.map((one) => <button key={one.id} type="button" class="btn" onClick={() => { setNoted(""); setNoting(one.id); }}>{ring.noteCall(one.name)}</button>)}</div>
        : (
          <>
            <CallNote order={order.id} whom={whom} onNoted={(said) => {
              setNoting(undefined);
              setNoted(said);
              void fetchCalls();
            }} />
            <div><button type="button" class="link" onClick={() => setNoting(undefined)}>{words.common.cancel}</button></div>
          </>
        )}
    </section>
  );
}

function Made({ call, onStruck }: { call: Call; onStruck: () => void }) {
  const act = useAct();
  const [striking, setStriking] = useState(false);
  const strike = (reason: string) => act.run((once) => calls.ring.strike(call.id, reason, once), () => {
    setStriking(false);
    onStruck();
  });
  return (
    <li>
      <b>{ring.outcomes[call.outcome]}</b> · {ring.callTo(call.customer_name, momentWords(call.at, shopHere().time_zone, new Date()), call.by.name)}
      {call.words && <><br />{call.words} {!striking && <button type="button" class="link" onClick={() => setStriking(true)}>{ring.strike}</button>}</>}
      {call.words_struck_reason && <><br /><span class="quiet">{ring.struck(call.words_struck_reason)}</span></>}
      {striking && <ReasonPicker title={ring.strikeWhy} reasons={ring.strikeReasons} busy={act.busy} onReason={(reason) => void strike(reason)} onLeave={() => setStriking(false)} />}
      <RefusalNote refusal={act.refusal} />
    </li>
  );
}
