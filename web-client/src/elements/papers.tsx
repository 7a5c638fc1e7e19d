import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { printPaper } from "../api/paper-frame";
import type { WorkOrder } from "../api/shapes";
import type { PaperName } from "../shop/papers";
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
};

/** Tag, label and receipt, one press each. A paper that fails changes nothing of the order. */
export function Papers({ order, together, atOnce = [] }: Props) {
  const acts = { tag: useAct(), label: useAct(), receipt: useAct() };
  const [others, setOthers] = useState<readonly string[]>();
  async function receipt(with_: readonly string[]): Promise<boolean> {
    setOthers(undefined);
    return acts.receipt.run((once) => calls.papers.receipt(order.id, with_, once), (paper) => printPaper(paper.html));
  }
  function print(name: PaperName): Promise<boolean> {
    switch (name) {
      case "tag":
      case "label": return acts[name].run((once) => calls.papers.tag(order.id, name === "tag" ? "tag_a6" : "label_62", once), (paper) => printPaper(paper.html));
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
    const found = await othersOfThatDay(order);
    if (found.length === 0) await receipt([]);
    else setOthers(found);
  }
  const all = (together?.length ?? 0) + 1;
  const refusal = acts.tag.refusal ?? acts.label.refusal ?? acts.receipt.refusal;
  return (
    <div class="papers" role="group" aria-label={words.papers.title}>
      <span>{words.papers.title}:</span>
      <Button type="button" class="btn" busy={acts.tag.busy} onClick={() => void print("tag")}>{words.papers.tag}</Button>
      <Button type="button" class="btn" busy={acts.label.busy} onClick={() => void print("label")}>{words.papers.label}</Button>
      {others === undefined ? (
        <Button type="button" class="btn" busy={acts.receipt.busy} onClick={() => void askReceipt()}>{all > 1 ? words.papers.receiptAll(all) : words.papers.receipt}</Button>
      ) : (
        <>
          <Button type="button" class="btn" busy={acts.receipt.busy} onClick={() => void receipt([])}>{words.papers.receiptOne}</Button>
          <Button type="button" class="btn" busy={acts.receipt.busy} onClick={() => void receipt(others)}>{words.papers.receiptAll(others.length + 1)}</Button>
        </>
      )}
      {refusal !== undefined && <p class="quiet">{words.papers.notMade}</p>}
      <RefusalNote refusal={refusal} />
    </div>
  );
}

/** What the same customer left on the same day. The server looks once more whose they are. */
async function othersOfThatDay(order: WorkOrder): Promise<string[]> {
  const answer = await calls.orders.list({ q: order.customer.name, limit: 100 });
  if (answer.kind !== "ok") return [];
  const { time_zone } = shopHere();
  const day = dateAt(order.checked_in_at, time_zone);
  return answer.value.items
    .filter((one) => one.id !== order.id && one.customer_name === order.customer.name && dateAt(one.checked_in_at, time_zone) === day)
    .slice(0, 29)
    .map((one) => one.id);
}
