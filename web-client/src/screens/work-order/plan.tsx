import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { NewOperation, Plan, PlanStep } from "../../api/shapes";
import { Button } from "../../elements/button";
import { Cautions } from "../../elements/cautions";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, useAct } from "../../elements/use-act";
import { durationWords } from "../../shop/duration";
import { fixedOf, moved } from "../../shop/plan-order";
import { smallHelps } from "../../shop/small-helps";
import { words } from "../../words";
import type { PartProps } from "../work-order";

/** What the whole work takes in this order, what has no way round, and what is said beside every plan. */
export function PlanSays({ plan, onArrange }: { plan: Plan; onArrange?: (() => void) | undefined }) {
  const total = plan.own?.total_minutes ?? plan.total_minutes;
  if (plan.steps.length === 0 && plan.impossible.length === 0 && plan.unplaced.length === 0) return null;
  return (
    <div class="sheet plan-says">
      <p class="row">
        <span class="grow">
          {total != null && <b>{words.plan.total(durationWords(total))}</b>}
          {plan.own != null ? ` · ${words.plan.own(plan.own.extra_minutes ?? undefined, plan.own.breaches.length === 0)}`
            : plan.proven_optimal ? ` · ${words.plan.proven}` : plan.lower_bound != null ? ` · ${words.plan.bound(durationWords(plan.lower_bound))}` : ""}
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

/** What the plan adds to a step: where, and what is protected meanwhile. */
export function stepWords(step: PlanStep): string[] {
  return [
    ...(step.station ? [words.plan.station(step.station)] : []),
    ...step.protections.map((one) => words.plan.protection(words.plan.protect[one.how], one.joint.name)),
  ];
}

/** What to cut for a step, which patch to make, how much to plate. */
export function Helps({ step }: { step: PlanStep }) {
  const helps = smallHelps(step);
  return helps.length === 0 ? null : <p class="about helps">{helps.join(" ")}</p>;
}

/** A joint that the plan takes apart or puts together and that is no operation yet. */
export function UnplannedStep({ step, plan, fresh, order, reload, onWrite }: PartProps & {
  step: PlanStep;
  plan: Plan | undefined;
  /** The step as an operation; none until the map is there. */
  fresh: NewOperation | undefined;
  /** Writes it with a price of its own. */
  onWrite: () => void;
}) {
  const act = useAct();
  return (
    <li class="unplanned">
      <div class="line">
        <span class="n" aria-hidden="true">·</span>
        <span><b>{step.words}</b> <span class="about">{[words.plan.unplanned, ...(fresh === undefined || fresh.heat === "none" || fresh.heat == null ? [] : [words.heats[fresh.heat]]), words.plan.noPrice, ...stepWords(step)].join(" · ")}</span></span>
        <span class="when">{words.common.minutes(step.minutes)}</span>
      </div>
      <Cautions slugs={step.cautions} of={plan?.cautions ?? []} />
      {order.stage !== "closed" && fresh !== undefined && (
        <div class="acts">
          <Button type="button" class="btn" busy={act.busy} aria-label={words.plan.putOnNamed(step.words)} onClick={() => void act.run((once) => calls.operations.add(order.id, fresh, once), reload)}>{words.plan.putOn}</Button>
          <button type="button" class="link" aria-label={words.plan.pricedNamed(step.words)} onClick={onWrite}>{words.plan.priced}</button>
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
