import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { Plan, WorkOrder } from "../api/shapes";

/** The plan of an order, fetched again when the order has changed; none where nothing is planned. */
export function usePlan(order: WorkOrder): { plan: Plan | undefined; adopt: (plan: Plan) => void } {
  const [plan, setPlan] = useState<Plan>();
  const latest = useRef(0);
  const hasSteps = order.operations.some((one) => one.state !== "struck");
  const adopt = useCallback((next: Plan) => {
    latest.current += 1;
    setPlan(next);
  }, []);
  useEffect(() => {
    latest.current += 1;
    const mine = latest.current;
    if (!hasSteps) return setPlan(undefined);
    void calls.plan.get(order.id).then((answer) => {
      // A slower, earlier answer must not overwrite a later one.
      if (answer.kind === "ok" && mine === latest.current) setPlan(answer.value);
    });
  }, [order.id, order.version, hasSteps]);
  return { plan, adopt };
}
