import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { fetchBoard } from "../app";
import type { Operation, WorkOrder } from "../api/shapes";
import { mayHoldClock } from "../shop/running-clock";
import { board, personHere } from "../store";
import { words } from "../words";

const runningIn = (order: WorkOrder, person: string): Operation | undefined => order.operations.find((one) => one.running?.by.id === person);

/** Which step runs on the clock of whoever is signed in, and on which order; asked of the server order by order. */
export function RunningStep({ order }: { order: WorkOrder }) {
  const me = personHere().id;
  const here = runningIn(order, me);
  const [found, setFound] = useState<{ number: string; step: Operation }>();
  useEffect(() => {
    if (here !== undefined) return;
    let gone = false;
    void (async () => {
      if (board.value === undefined) await fetchBoard();
      for (const one of mayHoldClock(board.value?.board.orders ?? [], me, order.id)) {
        if (gone) return;
        const answer = await calls.orders.get(one.claim_number);
        const step = answer.kind === "ok" ? runningIn(answer.value, me) : undefined;
        if (step !== undefined && !gone) return setFound({ number: one.claim_number, step });
      }
    })();
    return () => {
      gone = true;
    };
  }, [order.id, here?.id]);
  const step = here ?? found?.step;
  if (step === undefined) return null;
  return (
    <p>
      {words.workTab.runsNow(step.number, step.title)}
      {here === undefined && found !== undefined && <> · <a class="no" href={`/work-orders/${found.number}/work`}>{found.number}</a></>}
    </p>
  );
}
