import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Plan, PlanStep } from "../../api/shapes";
import { Button } from "../../elements/button";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, useAct } from "../../elements/use-act";
import { fixedOf, hoursAndMinutes, moved } from "../../shop/plan-order";
import { plain } from "../../shop/uncertain";
import { shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

/** What the whole work takes in this order, what has no way round, and what is said beside every plan. */
export function PlanSays({ plan, onArrange }: { plan: Plan; onArrange?: (() => void) | undefined }) {
  const total = plan.own?.total_minutes ?? plan.total_minutes;
  const sum = total == null ? undefined : hoursAndMinutes(total);
  if (plan.steps.length === 0 && plan.impossible.length === 0 && plan.unplaced.length === 0) return null;
  return (
    <div class="sheet plan-says">
      <p class="row">
        <span class="grow">
          {sum !== undefined && <b>{words.plan.total(sum.hours, sum.minutes)}</b>}
          {plan.own != null ? ` · ${words.plan.own} ${plan.own.extra_minutes == null ? "" : words.plan.extra(plan.own.extra_minutes)}`
            : plan.proven_optimal ? ` · ${words.plan.proven}` : plan.lower_bound != null ? ` · ${words.plan.bound(plan.lower_bound)}` : ""}
        </span>
        {onArrange !== undefined && <button type="button" class="btn" onClick={onArrange}>{words.plan.change}</button>}
      </p>
      {plan.own?.breaches.map((one) => <p key={one.words} class="heed"><b>{one.words}</b>{plan.own?.reason ? ` · ${plan.own.reason}` : ""}</p>)}
      {plan.impossible.map((one) => <p key={one.words} class="heed"><b>{words.plan.impossible}</b> {one.words}</p>)}
      {plan.unplaced.length > 0 && <p class="heed"><b>{words.plan.unplaced}</b> {words.common.list(plan.unplaced.map((one) => one.words))}</p>}
      {plan.notes.map((one) => <p key={one} class="quiet">{one}</p>)}
    </div>
  );
}

/** What the plan adds to a step: where, what is protected meanwhile, what to cut. */
export function stepWords(step: PlanStep): string[] {
  const number = (from: Record<string, unknown> | null | undefined, name: string) => {
    const value = from?.[name];
    return typeof value === "number" ? value : undefined;
  };
  const length = number(step.filler, "shown_length_mm");
  const [minutes, amperes] = [number(step.plating, "minutes"), number(step.plating, "current_a")];
  return [
    ...(step.station ? [words.plan.station(step.station)] : []),
    ...step.protections.map((one) => words.plan.protection(words.plan.protect[one.how], one.joint.name)),
    ...(length === undefined ? [] : [words.plan.filler(String(length))]),
    ...(step.filler?.["is_poor"] === true ? [words.plan.poorJoint] : []),
    ...(step.filler?.["gap_fills"] === false ? [words.plan.gapTooWide] : []),
    ...(minutes === undefined || amperes === undefined ? [] : [words.plan.plating(plain(minutes), plain(amperes))]),
  ];
}

/** A joint that the plan takes apart or puts together and that is no operation yet. */
export function UnplannedStep({ step, order, reload }: PartProps & { step: PlanStep }) {
  const act = useAct();
  const kind = step.kind === "take_apart" ? "take_apart" : "put_together";
  return (
    <li class="unplanned">
      <div class="line">
        <span class="n" aria-hidden="true">·</span>
        <span><b>{step.words}</b> <span class="about">{[words.plan.unplanned, ...stepWords(step)].join(" · ")}</span></span>
        <span class="when">{words.common.minutes(step.minutes)}</span>
      </div>
      {order.stage !== "closed" && (
        <div class="acts">
          <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run((once) => calls.operations.add(order.id, {
            title: step.words, kind, heat: "none", irreversible: false, finding_ids: [], after: [],
            ...(step.joint == null ? {} : { joint: step.joint.id }),
            minutes: { low: step.minutes, typical: step.minutes, high: step.minutes }, price: { amount: "0", currency: shopHere().currency },
          }, once), reload)}>{words.plan.putOn}</Button>
        </div>
      )}
      <RefusalNote refusal={act.refusal} />
    </li>
  );
}

/** The technician's own order: each step a place earlier or later, by buttons, nothing is dragged. */
export function Arrange({ order, plan, steps, onSteps, onFixed, onLeave }: {
  order: PartProps["order"];
  plan: Plan;
  steps: PlanStep[];
  onSteps: (steps: PlanStep[]) => void;
  onFixed: (plan: Plan) => void;
  onLeave: () => void;
}) {
  const act = useAct();
  const [asksWhy, setAsksWhy] = useState(false);
  const titleOf = (step: PlanStep) => order.operations.find((one) => one.id === step.operation_id)?.title ?? step.words;
  async function keep(wanted: readonly PlanStep[], reason?: string) {
    await act.run(() => calls.plan.fix(order.id, { steps: wanted.map(fixedOf), ...(reason === undefined ? {} : { reason }) }, plan.version), onFixed);
    // An order that breaks a rule stands only with a reason.
    if (faultAt(act.refusal, "/reason") !== undefined) setAsksWhy(true);
  }
  return (
    <>
      <ol class="ops">
        {steps.map((step, at) => (
          <li key={`${step.kind} ${step.operation_id ?? step.joint?.id ?? at}`} class="arrange">
            <span class="n">{at + 1}</span>
            <b>{titleOf(step)}</b>
            <button type="button" class="btn" aria-label={words.plan.up(titleOf(step))} disabled={at === 0} onClick={() => onSteps(moved(steps, at, -1))}>↑</button>
            <button type="button" class="btn" aria-label={words.plan.down(titleOf(step))} disabled={at === steps.length - 1} onClick={() => onSteps(moved(steps, at, 1))}>↓</button>
          </li>
        ))}
      </ol>
      <RefusalNote refusal={act.refusal} />
      {asksWhy ? (
        <ReasonPicker title={words.plan.why} reasons={words.plan.whyReasons} busy={act.busy} onReason={(reason) => void keep(steps, reason)} onLeave={() => setAsksWhy(false)} />
      ) : (
        <div class="row">
          <Button type="button" class="btn main" busy={act.busy} onClick={() => void keep(steps)}>{words.plan.keep}</Button>
          {plan.own != null && <Button type="button" class="btn" busy={act.busy} onClick={() => void keep([])}>{words.plan.computed}</Button>}
          <button type="button" class="link" onClick={onLeave}>{words.common.cancel}</button>
        </div>
      )}
    </>
  );
}
