import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { printPaper } from "../api/paper-frame";
import type { Answer } from "../api/answer";
import type { Paper, WorkOrder } from "../api/shapes";
import { leftTogether, type PaperName } from "../shop/papers";
import { dateAt } from "../shop/dates";
import { shopHere } from "../store";
import { words } from "../words";
import { Button } from "./button";
import { RefusalNote } from "./refusal-note";
import { useAct } from "./use-act";

type Props = {
  order: WorkOrder;
  /** Other orders that were just checked in with it; where that is not known, those of the same day are looked for. */
  together?: readonly WorkOrder[];
  /** What is printed without being asked for, right after the check-in. */
  atOnce?: readonly PaperName[];
  /** Whether a paper has come out, as far as the browser tells. */
  onTried?: (name: PaperName, isOut: boolean) => void;
};

/** Tag, label and receipt, one press each. A paper that fails changes nothing of the order. */
export function Papers({ order, together, atOnce = [], onTried }: Props) {
  const acts = { tag: useAct(), label: useAct(), receipt: useAct() };
  const looking = useAct();
  const [others, setOthers] = useState<readonly string[]>();
  // The server made the paper, the browser did not print it.
  const [isStuck, setStuck] = useState(false);
  async function make(name: PaperName, ask: (once: string) => Promise<Answer<Paper>>): Promise<void> {
    setStuck(false);
    let isOut = false;
    try {
      isOut = await acts[name].run(ask, (paper) => printPaper(paper.html));
    } catch {
      setStuck(true);
    }
    onTried?.(name, isOut);
  }
  function receipt(with_: readonly string[]): Promise<void> {
    setOthers(undefined);
    return make("receipt", (once) => calls.papers.receipt(order.id, with_, once));
  }
  function print(name: PaperName): Promise<void> {
    switch (name) {
      case "tag":
      case "label": return make(name, (once) => calls.papers.tag(order.id, name === "tag" ? "tag_a6" : "label_62", once));
      case "receipt": return receipt((together ?? []).map((one) => one.id));
    }
  }
  useEffect(() => {
    void (async () => {
      for (const name of atOnce) await print(name);
    })();
  }, [order.id]);
  async function askReceipt() {
    if (together !== undefined) return void print("receipt");
    await looking.run(() => othersOfThatDay(order), async (found) => {
      if (found.length === 0) await receipt([]);
      else setOthers(found);
    });
  }
  const all = (together?.length ?? 0) + 1;
  const refusal = acts.tag.refusal ?? acts.label.refusal ?? acts.receipt.refusal ?? looking.refusal;
  return (
    <div class="papers" role="group" aria-label={words.papers.title}>
      <span>{words.papers.title}:</span>
      <Button type="button" class="btn" busy={acts.tag.busy} onClick={() => void print("tag")}>{words.papers.tag}</Button>
      <Button type="button" class="btn" busy={acts.label.busy} onClick={() => void print("label")}>{words.papers.label}</Button>
      {others === undefined ? (
        <Button type="button" class="btn" busy={acts.receipt.busy || looking.busy} onClick={() => void askReceipt()}>{all > 1 ? words.papers.receiptAll(all) : words.papers.receipt}</Button>
      ) : (
        <>
          <Button type="button" class="btn" busy={acts.receipt.busy} onClick={() => void receipt([])}>{words.papers.receiptOne}</Button>
          <Button type="button" class="btn" busy={acts.receipt.busy} onClick={() => void receipt(others)}>{words.papers.receiptAll(others.length + 1)}</Button>
        </>
      )}
      {(refusal !== undefined || isStuck) && <p class="quiet">{words.papers.notMade}</p>}
      <RefusalNote refusal={refusal} />
    </div>
  );
}

/** What the same customer left on the same day. */
function othersOfThatDay(order: WorkOrder): Promise<Answer<string[]>> {
  const { time_zone } = shopHere();
  return leftTogether(order, {
    list: () => calls.orders.list({ q: order.customer.name, limit: 100 }),
    get: calls.orders.get,
    dayOf: (instant) => dateAt(instant, time_zone),
  });
}
