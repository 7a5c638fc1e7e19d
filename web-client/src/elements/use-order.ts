import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { WorkOrder } from "../api/shapes";
import { lastChange } from "../store";
import type { Refusal } from "./use-act";
import { useReadAnew } from "./use-read-anew";
import { useSignalEffect } from "@preact/signals";

export type OrderHere = {
  order: WorkOrder | undefined;
  /** Why there is none, once that is known. */
  refusal: Refusal | undefined;
  /** Fetches it again; the screen keeps what it shows until the answer is there. */
  reload: () => Promise<void>;
};

/** One work order, fetched again whenever a change of it is told. */
export function useOrder(number: string): OrderHere {
  const [order, setOrder] = useState<WorkOrder>();
  const [refusal, setRefusal] = useState<Refusal>();
  const latest = useRef(0);
  const reload = useCallback(async () => {
    latest.current += 1;
    const mine = latest.current;
    const answer = await calls.orders.get(number);
    // A slower, earlier answer must not overwrite a later one.
    if (mine !== latest.current) return;
    if (answer.kind === "ok") {
      setOrder(answer.value);
      setRefusal(undefined);
    } else {
      setRefusal(answer);
    }
  }, [number]);
  useEffect(() => {
    setOrder(undefined);
    void reload();
  }, [reload]);
  useReadAnew(() => void reload());
  useSignalEffect(() => {
    const change = lastChange.value;
    if (change === undefined || order === undefined || change.work_order_id !== order.id) return;
    // A letter goes its own way: how it fared raises no version of the order.
    if (change.version !== order.version || change.kind.startsWith("letter")) void reload();
  });
  return { order, refusal, reload };
}
