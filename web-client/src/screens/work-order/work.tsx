import { useLocation } from "preact-iso/router";
import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { NewOperation, Operation, OperationEdit, OperationKind, OrderMap, Plan, PlanStep } from "../../api/shapes";
import { Button } from "../../elements/button";
import { Cautions } from "../../elements/cautions";
import { Chip } from "../../elements/chip";
import { Drawing } from "../../elements/drawing";
import { findingWords } from "../../elements/finding-form";
import { isOneOf } from "../../elements/form";
import { draftFrom, draftOf, OperationFields, readDraft, type Draft, type Step } from "../../elements/operation-form";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { plainWords, StalePanel } from "../../elements/stale-panel";
import { RunningStep } from "../../elements/running-step";
import { useAct } from "../../elements/use-act";
import { useOrderMap } from "../../elements/use-order-map";
import { usePlan } from "../../elements/use-plan";
import { keepClock, keptStop } from "../../kept";
import { clockWords, runningWords } from "../../shop/dates";
import { HEAT_CAUTIONS, operationOf } from "../../shop/joints";
import { isZero, moneyWords } from "../../shop/money";
import { planRows } from "../../shop/plan-order";
import { standing } from "../../shop/stale-choice";
import { iMay, methods, now, partWords, personHere, shopHere } from "../../store";
import { words } from "../../words";
import { heatWords } from "../../words/en-heat";
import type { PartProps } from "../work-order";
import { Heat } from "./heat";
import { Arrange, Helps, PlanSays, stepWords, UnplannedStep } from "./plan";

/** The steps on the bench, with the clock. */
export function WorkPart({ order, reload }: PartProps) {
  const { query } = useLocation();
  const asked = query["plan"] ?? "";
  const planned = isOneOf<OperationKind>(words.operationKinds, asked) ? asked : undefined;
  const [writing, setWriting] = useState<"new" | string | undefined>(planned === undefined ? undefined : "new");
  // A step that the plan proposes by itself, while it is given a price.
  const [pricing, setPricing] = useState<PlanStep>();
  const { map } = useOrderMap(order);
  const freshOf = (step: PlanStep) => (map === undefined ? undefined : operationOf(step, map.map, shopHere().currency));
  useEffect(() => {
    if (planned !== undefined) setWriting("new");
  }, [planned]);
  const { plan, refusal: unplanned, adopt } = usePlan(order);
  const [arranging, setArranging] = useState<PlanStep[]>();
  const rows = planRows(order.operations, plan?.own?.steps ?? plan?.steps ?? []);
  const struck = order.operations.filter((one) => one.state === "struck");
  // What stands in the way of every step alike is said once.
  const waiting = order.operations.filter((one) => one.state !== "struck" && one.state !== "done");
  const why = waiting.length > 1 && waiting.every((one) => !one.may_start && one.why_not === waiting[0]?.why_not) ? waiting[0]?.why_not ?? undefined : undefined;
  const isOpen = order.stage !== "closed";
  return (
    <>
      {rows.length === 0 && writing !== "new" && <div class="sheet"><b>{words.workTab.none}</b> {words.workTab.noneMore}</div>}
      <MapOnPaper order={order} map={map} />
      {/* Without a plan nobody is told what a torch would melt: that it is missing is said. */}
      {unplanned !== undefined && <p class="heed" role="alert"><b>{words.plan.notFetched}</b></p>}
      {plan !== undefined && plan.conflicts.length > 0 && <Heat plan={plan} order={order} reload={reload} />}
      {plan !== undefined && <PlanSays plan={plan} onArrange={isOpen && arranging === undefined && plan.steps.length > 1 ? () => setArranging(plan.own?.steps ?? plan.steps) : undefined} />}
      {plan !== undefined && arranging !== undefined ? (
        <Arrange order={order} plan={plan} steps={arranging} onSteps={setArranging} onFixed={(next) => { adopt(next); setArranging(undefined); void reload(); }} onLeave={() => setArranging(undefined)} />
      ) : (
        <>
        {why !== undefined && <p class="heed sheet">{why}</p>}
        <ol class="ops">
          {rows.map((row) => {
            if (row.operation === undefined) {
              const { step } = row;
              const key = `${step.kind} ${step.joint?.id ?? ""}`;
              const fresh = freshOf(step);
              const isPriced = pricing?.kind === step.kind && pricing.joint?.id === step.joint?.id && fresh !== undefined;
              return isPriced
                ? <li key={key}><StepForm order={order} reload={reload} fresh={fresh} onClose={() => setPricing(undefined)} /></li>
                : <UnplannedStep key={key} step={step} plan={plan} fresh={fresh} order={order} reload={reload} onWrite={() => setPricing(step)} />;
            }
            const { operation } = row;
            return writing === operation.id ? (
              <li key={operation.id}><StepForm order={order} reload={reload} operation={operation} onClose={() => setWriting(undefined)} /></li>
            ) : (
              <StepLine key={operation.id} operation={operation} step={row.step} plan={plan} whySaid={why !== undefined} order={order} reload={reload} onWrite={() => setWriting(operation.id)} />
            );
          })}
        </ol>
        </>
      )}
      {writing === "new" ? (
        <StepForm order={order} reload={reload} kind={planned} onClose={() => setWriting(undefined)} />
      ) : (
        isOpen && <button type="button" class="btn" onClick={() => setWriting("new")}>{words.workTab.add}</button>
      )}
      {struck.length > 0 && (
        <details>
          <summary>{words.workTab.struckList(struck.length)}</summary>
          <ul>{struck.map((one) => <li key={one.id}>{one.number}. {one.title}: {words.workTab.struck(one.struck_reason ?? "")}</li>)}</ul>
        </details>
      )}
    </>
  );
}

/** The map with its pins for the printed plan; on the screen it stands among the findings. */
function MapOnPaper({ order, map }: { order: PartProps["order"]; map: OrderMap | undefined }) {
  const found = order.findings.filter((one) => !one.struck_reason);
  if (map === undefined || found.length === 0) return null;
  return (
    <figure class="on-paper">
      <Drawing drawing={map.drawing} />
      <figcaption>
        <p>{words.map.note}</p>
        <ol>{found.map((one) => <li key={one.id}><b>{one.number}</b> {findingWords(one, partWords(order.instrument.family, one.part))}, {words.dispositions[one.disposition].toLowerCase()}</li>)}</ol>
      </figcaption>
    </figure>
  );
}

function StepLine({ operation, step, plan, whySaid, order, reload, onWrite }: PartProps & { whySaid: boolean; operation: Operation; step?: PlanStep | undefined; plan: Plan | undefined; onWrite: () => void }) {
  const act = useAct();
  const [striking, setStriking] = useState(false);
  const me = personHere();
  const { low, high } = operation.minutes;
  const numbers = (ids: readonly string[], of: readonly { id: string; number: number }[]) =>
    words.common.list(ids.flatMap((id) => of.filter((one) => one.id === id).map((one) => String(one.number))));
  const about = [
    ...(operation.finding_ids.length > 0 ? [words.workTab.finding(numbers(operation.finding_ids, order.findings))] : []),
    ...(operation.heat === "none" ? [] : [words.heats[operation.heat]]),
    ...(operation.after.length > 0 ? [words.workTab.afterSteps(numbers(operation.after, order.operations))] : []),
    ...(operation.irreversible ? [words.workTab.irreversibleWords] : []),
    isZero(operation.price) && operation.kind !== "work" ? words.plan.noPrice : moneyWords(operation.price),
    ...(operation.quoted_otherwise ? [words.workTab.quotedOtherwise] : []),
    ...(operation.rework_count > 0 ? [words.workTab.rework(operation.rework_count)] : []),
    ...(operation.claimed_by && operation.state !== "done" ? [words.workTab.claimedBy(operation.claimed_by.name)] : []),
    ...(operation.to_check ? [words.workTab.check] : []),
    ...(step === undefined || operation.state === "done" ? [] : stepWords(step)),
  ];
  const stopped = keptStop(operation);
  const running = operation.state === "running" && stopped === undefined;
  const isMine = operation.running?.by.id === me.id;
  const done = operation.state === "done";
  // The plan knows what stands near the flame; without one the method's own cautions are told.
  const ofMethod = methods.value.find((one) => one.id === operation.method_id)?.cautions ?? [];
  const slugs = step?.cautions ?? [...new Set([...HEAT_CAUTIONS[operation.heat], ...ofMethod])];
  const [asked, setAsked] = useState<"start" | "stop" | "done">();
  // Joints that the torch of this step would melt as the instrument lies there now.
  const inHeat = (plan?.conflicts ?? []).filter((one) => one.operation_id === operation.id && !one.apart && !one.ways.some((way) => way.wanted && way.allowed && way.how !== "take_apart"));
  const [warned, setWarned] = useState(false);
  async function time(action: "start" | "stop" | "done", stop_other?: boolean) {
    setAsked(action);
    let key = "";
    await act.run((once) => {
      key = once;
      return calls.operations.time(operation.id, action, once, stop_other);
    }, reload);
    if (action === "start" || operation.running == null || act.refusal?.kind !== "away") return;
    keepClock(order, operation, action, key);
    act.clear();
  }
  /** Whoever goes against what the plan says tells why, and the order keeps it. */
  async function startAnyway(reason: string) {
    let kept = false;
    const said = heatWords.startedAnyway(operation.number, operation.title, words.common.list(inHeat.map((one) => one.joint.name)), reason);
    await act.run((once) => calls.orders.note(order.id, said, once), () => { kept = true; });
    if (kept) await time("start");
  }
  // Somebody has one running clock: a second start asks whether the first one stops.
  const asksToStop = act.refusal?.kind === "problem" && act.refusal.problem.type === "clock-running" && asked === "start";
  return (
    <li class={running ? "now" : done ? "done" : ""}>
      <div class="line">
        <span class="n">{operation.number}</span>
        <span>
          <b>{operation.title}</b> <span class="about">{about.join(" · ")}</span>
        </span>
        <span class="when">
          {operation.actual_minutes > 0 ? words.workTab.taken(operation.actual_minutes, low, high) : words.workTab.planned(low, high)}
          <br />
          {stopped !== undefined ? <b>{words.workTab.keptStop(clockWords(stopped, shopHere().time_zone))}</b>
            : running && operation.running ? <b>{isMine ? runningWords(operation.running.since, now.value) : words.workTab.runningBy(operation.running.by.name)}</b>
            : operation.waits_for_answer ? <><Chip turn="customer" /> {words.workTab.waits}</>
            : !done && !operation.may_start ? words.workTab.mayNotStart
            : <b>{words.workTab.state[operation.state]}</b>}
        </span>
      </div>
      {!done && !operation.may_start && !running && !whySaid && operation.why_not && <p class="about heed">{operation.why_not}</p>}
      {step !== undefined && !done && <Helps step={step} />}
      {!done && <Cautions slugs={slugs} of={plan?.cautions ?? []} />}
      {!done && stopped === undefined && order.stage !== "closed" && (
        <div class="acts">
          {running ? (
            <>
              <Button type="button" class="btn main" busy={act.busy} onClick={() => void time("done")}>{words.workTab.done}</Button>
              <Button type="button" class="btn" busy={act.busy} onClick={() => void time("stop")}>{words.workTab.stop}</Button>
            </>
          ) : (
            <>
              {operation.may_start && (
                <Button type="button" class="btn main" busy={act.busy} onClick={() => (inHeat.length > 0 && operation.state === "planned" ? setWarned(true) : void time("start"))}>{operation.state === "paused" ? words.workTab.goOn : words.workTab.start}</Button>
              )}
              {operation.state === "paused" && <Button type="button" class="btn" busy={act.busy} onClick={() => void time("done")}>{words.workTab.done}</Button>}
              {operation.claimed_by == null ? iMay("technician") && (
                <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.operations.claim(operation.id, operation.version), reload)}>{words.workTab.claim}</Button>
              ) : operation.claimed_by.id === me.id ? (
                <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.operations.giveBack(operation.id, operation.version), reload)}>{words.workTab.giveBack}</Button>
              ) : null}
              <button type="button" class="link" onClick={onWrite}>{words.common.change}</button>
              <button type="button" class="link" onClick={() => setStriking(true)}>{words.workTab.strike}</button>
            </>
          )}
        </div>
      )}
      {warned && !asksToStop && operation.state === "planned" && inHeat.length > 0 && (
        <ReasonPicker
          title={`${heatWords.stillIn(words.common.list(inHeat.map((one) => heatWords.stillOne(one.joint.name, String(Math.round(one.temperature_c)), String(Math.round(one.melts_at_c))))))} ${heatWords.stillMore} ${heatWords.startAnyway}`}
          reasons={heatWords.startReasons}
          busy={act.busy}
          onReason={(reason) => void startAnyway(reason)}
          onLeave={() => setWarned(false)}
        />
      )}
      {asksToStop ? (
        <div class="reason">
          <p>{words.workTab.stopOther}</p>
          <RunningStep order={order} />
          <div class="row">
            <Button type="button" class="btn main" busy={act.busy} onClick={() => void time("start", true)}>{words.workTab.stopOtherYes}</Button>
            <button type="button" class="link" onClick={act.clear}>{words.common.cancel}</button>
          </div>
        </div>
      ) : (
        <>
          <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
          {act.refusal?.kind === "away" && asked === "start" && <p class="about">{words.workTab.startNeedsLine}</p>}
        </>
      )}
      {striking && (
        <ReasonPicker
          title={words.workTab.strikeWhy}
          reasons={words.workTab.strikeReasons}
          busy={act.busy}
          onReason={(struck_reason) => void act.run(() => calls.operations.edit(operation.id, { struck_reason }, operation.version), async () => {
            setStriking(false);
            await reload();
          })}
          onLeave={() => setStriking(false)}
        />
      )}
    </li>
  );
}

/** A new step of this kind; one that only puts together what was apart is called so and costs nothing, until somebody says otherwise. */
function withKind(kind: OperationKind | undefined, draft: Draft): Draft {
  return kind === undefined ? draft : { ...draft, kind, title: words.operationKinds[kind], ...(kind === "put_together" ? { price: "0" } : {}) };
}

/** What can be amended of a step: its kind, method and heat stay. */
function editOf({ title, finding_ids, after, minutes, price }: Step): OperationEdit {
  return { title, finding_ids, after, minutes, price };
}

/** A field of a step in words, where two versions of it stand beside each other. */
function stepFieldWords({ findings, operations }: PartProps["order"], field: string, value: unknown): string {
  const isThing = (of: unknown): of is Record<string, unknown> => typeof of === "object" && of !== null && !Array.isArray(of);
  if (field === "price" && isThing(value) && typeof value["amount"] === "string" && typeof value["currency"] === "string") return moneyWords({ amount: value["amount"], currency: value["currency"] });
  if (field === "minutes" && isThing(value)) return [value["low"], value["typical"], value["high"]].map(plainWords).join(" / ");
  if ((field === "finding_ids" || field === "after") && Array.isArray(value)) {
    const of: readonly { id: string; number: number }[] = field === "after" ? operations : findings;
    return value.length === 0 ? words.common.none : words.common.list(value.map((id) => String(of.find((one) => one.id === id)?.number ?? "?")));
  }
  return plainWords(value);
}

function StepForm({ order, reload, operation, kind, fresh, onClose }: PartProps & { operation?: Operation; kind?: OperationKind | undefined; fresh?: NewOperation; onClose: () => void }) {
  const act = useAct();
  const [draft, setDraft] = useState(() => (fresh !== undefined ? draftFrom(fresh) : withKind(kind, draftOf(operation, order.findings.filter((one) => one.disposition === "repair" && !one.struck_reason && !order.operations.some((step) => step.finding_ids.includes(one.id))).slice(0, 1).map((one) => one.id)))));
  const [wrong, setWrong] = useState<"title" | "minutes" | "price">();
  // What was typed goes by the step as it was then: the order is fetched again while the form is open.
  const [opened] = useState(operation?.version);
  /** `keep`: after somebody else wrote first, what of it is sent at all. */
  async function save(seen?: number, keep: (edit: OperationEdit) => OperationEdit = (edit) => edit) {
    const read = readDraft(draft);
    if ("wrong" in read) return setWrong(read.wrong);
    setWrong(undefined);
    const { step } = read;
    await act.run(
      (once) => operation === undefined ? calls.operations.add(order.id, step, once) : calls.operations.edit(operation.id, keep(editOf(step)), seen ?? opened ?? operation.version),
      async () => {
        await reload();
        onClose();
      },
    );
  }
  if (act.refusal?.kind === "stale" && operation !== undefined) {
    const { current } = act.refusal;
    return (
      <StalePanel
        stale={current}
        what={words.stale.step(operation.number)}
        show={(field, value) => stepFieldWords(order, field, value)}
        busy={act.busy}
        onChosen={(mine) => {
          // What was left to the other one is left out, not written over.
          if (mine.size === 0 && (current.differences ?? []).length > 0) void reload().then(onClose);
          else void save(current.current_version, (edit) => standing(edit, current, mine));
        }}
      />
    );
  }
  return (
    <form class="form" aria-label={operation === undefined ? words.workTab.add : operation.title} onSubmit={(event) => {
      event.preventDefault();
      void save();
    }}>
      <OperationFields order={order} draft={draft} onDraft={setDraft} wrong={wrong} {...(operation === undefined ? {} : { self: operation.id })} />
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy}>{operation === undefined ? words.workTab.record : words.common.save}</Button>
      </div>
    </form>
  );
}
