import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { Plan, WorkOrder } from "../api/shapes";
import type { Refusal } from "./use-act";
import { useReadAnew } from "./use-read-anew";

/** The plan of an order, fetched again when the order has changed; none where nothing is planned. */
export function usePlan(order: WorkOrder): { plan: Plan | undefined; refusal: Refusal | undefined; adopt: (plan: Plan) => void } {
  const [plan, setPlan] = useState<Plan>();
  const [refusal, setRefusal] = useState<Refusal>();
  const latest = useRef(0);
  const hasSteps = order.operations.some((one) => one.state !== "struck");
  const adopt = useCallback((next: Plan) => {
    latest.current += 1;
    setPlan(next);
  }, []);
  const fetchPlan = useCallback(async () => {
    latest.current += 1;
    const mine = latest.current;
    if (!hasSteps) {
      setRefusal(undefined);
      return setPlan(undefined);
    }
    const answer = await calls.plan.get(order.id);
    // A slower, earlier answer must not overwrite a later one.
    if (mine !== latest.current) return;
    if (answer.kind === "ok") setPlan(answer.value);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  }, [order.id, hasSteps]);
  useEffect(() => {
    void fetchPlan();
    return () => {
      latest.current += 1;
    };
  }, [fetchPlan, order.version]);
  useReadAnew(() => void fetchPlan());
  return { plan, refusal, adopt };
}
