import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { OrderMap, WorkOrder } from "../api/shapes";
import { useReadAnew } from "./use-read-anew";

/** The instrument's part map with this order's findings; fetched again when the order has changed. */
export function useOrderMap(order: WorkOrder): { map: OrderMap | undefined; fetchMap: () => Promise<void> } {
  const [map, setMap] = useState<OrderMap>();
  const latest = useRef(0);
  const fetchMap = useCallback(async () => {
    latest.current += 1;
    const mine = latest.current;
    const answer = await calls.orders.map(order.id);
    // A slower, earlier answer must not overwrite a later one.
    if (answer.kind === "ok" && mine === latest.current) setMap(answer.value);
  }, [order.id]);
  useEffect(() => {
    void fetchMap();
    return () => {
      latest.current += 1;
    };
  }, [fetchMap, order.version]);
  useReadAnew(() => void fetchMap());
  return { map, fetchMap };
}
