import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { HeatConflict, HeatCurve, Plan, Way } from "../../api/shapes";
import { RefusalNote } from "../../elements/refusal-note";
import { TemperatureChart, type Along, type JointMark } from "../../elements/temperature-chart";
import { useAct } from "../../elements/use-act";
import { durationWords } from "../../shop/duration";
import { iMay } from "../../store";
import { heatWords } from "../../words/en-heat";
import type { PartProps } from "../work-order";

const alongOf = (curve: HeatCurve): Along[] => curve.points.map((one) => ({ position_mm: one.position_mm, likely_c: one.temperature_c, cautious_c: one.temperature_high_c }));

/** mm from the torch's edge to where the tube is kept cool. */
function fromTorch(curve: HeatCurve): string | undefined {
  const gaps = curve.covered.map((one) => Math.max(one.from_mm - curve.torch_to_mm, curve.torch_from_mm - one.to_mm));
  return gaps.length === 0 ? undefined : String(Math.round(Math.min(...gaps)));
}

/**
 * The joints that torch work would melt, one at a time: the tube straightened out under the
 * temperatures along it, and the ways round as equal choices. What is settled says so beside it. A
 * way is looked at first; doing it that way writes down what it needs.
 */
export function Heat({ plan, order, reload }: PartProps & { plan: Plan }) {
  const act = useAct();
  // What the shortest order reckons with is nobody's choice yet.
  const settled = (one: HeatConflict) => one.ways.some((way) => way.wanted && way.allowed);
  const first = plan.conflicts.findIndex((one) => !settled(one));
  const [wanted, setWanted] = useState<number>();
  const [shown, setShown] = useState<Way>();
  const at = wanted !== undefined && wanted < plan.conflicts.length ? wanted : Math.max(0, first);
  const conflict = plan.conflicts[at];
  const numberOf = (one: HeatConflict) => order.operations.find((step) => step.id === one.operation_id)?.number;
  if (conflict === undefined) return null;
  const chosen = conflict.ways.find((way) => way.chosen);
  const inHand = shown !== undefined && conflict.ways.includes(shown) ? shown : chosen;
  const under = inHand?.curve != null ? inHand : conflict.ways.find((way) => way.how === "water" && way.curve != null);
  const operation = order.operations.find((one) => one.id === conflict.operation_id);
  const mayChoose = iMay("technician") && order.stage !== "closed" && operation?.state !== "running";
  const choose = (way: Way) => void act.run(
    (once) => calls.plan.choose(order.id, {
      operation_id: conflict.operation_id, joint: conflict.joint.id, how: way.how, ...(way.method_id == null ? {} : { method_id: way.method_id }),
    }, once, order.version),
    async () => {
      setShown(undefined);
      await reload();
    },
  );
  const lost = conflict.ways.find((way) => way.wanted && !way.allowed);
  const torchAt = (conflict.curve.torch_from_mm + conflict.curve.torch_to_mm) / 2;
  const mm = (value: number) => String(Math.round(value));
  const off = conflict.apart || inHand?.how === "take_apart";
  const what = heatWords.what(conflict.joint.name, conflict.verdict === "melts", operation?.number, operation?.title ?? "");
  const joint: JointMark = {
    position_mm: conflict.curve.joint_at_mm,
    label: heatWords.joint(conflict.joint.name, mm(conflict.distance_mm), mm(conflict.temperature_c), mm(conflict.temperature_high_c)),
    below: [conflict.joint.name, off ? heatWords.off : inHand === undefined ? heatWords.verdicts[conflict.verdict] : inHand.allowed ? heatWords.saved(heatWords.ways[inHand.how]) : heatWords.verdicts[conflict.verdict]],
    melts_c: conflict.melts_at_c, limit_c: conflict.limit_c, likely_c: conflict.temperature_c, cautious_c: conflict.temperature_high_c, off,
  };
  return (
    <section class="sheet heat" aria-labelledby="heat-title">
      <h2 id="heat-title">{chosen !== undefined && settled(conflict) ? heatWords.settled(conflict.joint.name, heatWords.ways[chosen.how]) : heatWords.open(what)}</h2>
      {plan.conflicts.length > 1 && (
        <nav class="heat-others" aria-label={heatWords.others}>
          {plan.conflicts.map((one, i) => (i === at ? null : (
            <button key={one.operation_id + one.joint.id} type="button" class="link" onClick={() => { setWanted(i); setShown(undefined); }}>
              {(settled(one) ? heatWords.settledShort : heatWords.openShort)(one.joint.name, numberOf(one))}
            </button>
          )))}
        </nav>
      )}
      {chosen !== undefined && !settled(conflict) && <p>{heatWords.reckoned(heatWords.ways[chosen.how])}</p>}
      <TemperatureChart
        along={alongOf(conflict.curve)}
        joints={[joint]}
        torch={{ position_mm: torchAt, label: [heatWords.torch(mm(conflict.torch_c))], below: [heatWords.torchBelow(operation?.number ?? 0)] }}
        water={under?.curve == null ? undefined : {
          label: heatWords.wayCurve(heatWords.ways[under.how], fromTorch(under.curve), under.temperature_c == null ? undefined : mm(under.temperature_c)),
          along: under.curve.points,
          covered: under.curve.covered,
        }}
        meltWords={(c, limit) => heatWords.melts(mm(c), conflict.filler_known, limit === undefined ? undefined : mm(limit))}
        degrees={heatWords.degrees}
        label={heatWords.spoken(conflict.words, mm(conflict.temperature_c), mm(conflict.temperature_high_c), mm(conflict.melts_at_c))}
      />
      <p class="quiet">{heatWords.key(plan.defaulted.length)}</p>
      <div class="ways" role="group" aria-label={heatWords.waysFor(conflict.joint.name)}>
        {conflict.ways.map((way) => (
          <div key={way.how + (way.method_id ?? "")} class={way.allowed ? "way" : "way not"}>
            <button type="button" class="btn" aria-pressed={way === inHand} onClick={() => setShown(way)}>
              <b>{way.words}</b>
              <span>{way.allowed ? heatWords.minutes(way.minutes, way.plan_minutes == null ? undefined : durationWords(way.plan_minutes)) : heatWords.notAllowed(way.why_not ?? "")}{way.wanted ? ` · ${heatWords.wanted}` : way.chosen ? ` · ${heatWords.taken}` : ""}</span>
            </button>
            {mayChoose && way.allowed && !way.wanted && (
              <button type="button" class="btn" disabled={act.busy} aria-label={heatWords.doItNamed(way.words)} onClick={() => choose(way)}>{heatWords.doIt}</button>
            )}
          </div>
        ))}
      </div>
      {lost !== undefined && <p class="heed"><b>{heatWords.lost(heatWords.ways[lost.how])}</b> {lost.why_not}</p>}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
    </section>
  );
}
