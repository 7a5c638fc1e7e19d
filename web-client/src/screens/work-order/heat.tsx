import { useState } from "preact/hooks";
import type { HeatConflict, HeatCurve, Plan, Way, WorkOrder } from "../../api/shapes";
import { TemperatureChart, type Along, type JointMark } from "../../elements/temperature-chart";
import { words } from "../../words";

const alongOf = (curve: HeatCurve): Along[] => curve.points.map((one) => ({ position_mm: one.position_mm, likely_c: one.temperature_c, cautious_c: one.temperature_high_c }));

/**
 * The joints that torch work would melt, one at a time: the tube straightened out under the
 * temperatures along it, and the ways round as equal choices. What is settled says so beside it.
 */
export function Heat({ plan, order }: { plan: Plan; order: WorkOrder }) {
  const settled = (one: HeatConflict) => one.ways.some((way) => way.chosen);
  const first = plan.conflicts.findIndex((one) => !settled(one));
  const [wanted, setWanted] = useState<number>();
  const [shown, setShown] = useState<Way>();
  const at = wanted !== undefined && wanted < plan.conflicts.length ? wanted : Math.max(0, first);
  const conflict = plan.conflicts[at];
  if (conflict === undefined) return null;
  const chosen = conflict.ways.find((way) => way.chosen);
  const inHand = shown !== undefined && conflict.ways.includes(shown) ? shown : chosen;
  const under = inHand?.curve != null ? inHand : conflict.ways.find((way) => way.how === "water" && way.curve != null);
  const operation = order.operations.find((one) => one.id === conflict.operation_id);
  const torchAt = (conflict.curve.torch_from_mm + conflict.curve.torch_to_mm) / 2;
  const mm = (value: number) => String(Math.round(value));
  const off = inHand?.how === "take_apart";
  const joint: JointMark = {
    position_mm: conflict.curve.joint_at_mm,
    label: words.heat.joint(conflict.joint.name, mm(conflict.distance_mm), mm(conflict.temperature_c), mm(conflict.temperature_high_c)),
    below: words.heat.below(conflict.joint.name, off ? words.heat.off : words.heat.verdicts[conflict.verdict]),
    melts_c: conflict.melts_at_c, likely_c: conflict.temperature_c, cautious_c: conflict.temperature_high_c, off,
  };
  return (
    <section class="sheet heat" aria-labelledby="heat-title">
      <div class="row">
        <h2 id="heat-title" class="grow">{chosen === undefined ? words.heat.open(conflict.words) : words.heat.settled(conflict.joint.name, words.heat.ways[chosen.how])}</h2>
        {plan.conflicts.map((one, i) => (i === at ? null : (
          <button key={one.operation_id + one.joint.id} type="button" class="link" onClick={() => { setWanted(i); setShown(undefined); }}>
            {settled(one) ? words.heat.settledShort(one.joint.name) : words.heat.openShort(one.joint.name)}
          </button>
        )))}
      </div>
      <TemperatureChart
        along={alongOf(conflict.curve)}
        joints={[joint]}
        torch={{ position_mm: torchAt, label: words.heat.torch(mm(conflict.torch_c)), below: words.heat.torchBelow(operation?.number ?? 0) }}
        water={under?.curve == null ? undefined : {
          label: words.heat.wayCurve(words.heat.ways[under.how], under.temperature_c == null ? undefined : mm(under.temperature_c)),
          along: under.curve.points,
        }}
        meltWords={(c) => words.heat.melts(mm(c), conflict.filler_known)}
        degrees={words.heat.degrees}
        label={words.heat.spoken(conflict.words, mm(conflict.temperature_c), mm(conflict.temperature_high_c), mm(conflict.melts_at_c))}
      />
      <p class="quiet">{words.heat.key(plan.defaulted.length)}</p>
      <div class="ways" role="group" aria-label={words.heat.waysFor(conflict.joint.name)}>
        {conflict.ways.map((way) => (
          <button
            key={way.how + (way.method_id ?? "")}
            type="button"
            class="btn"
            aria-pressed={way === inHand}
            onClick={() => setShown(way)}
          >
            <b>{way.words}</b>
            <span>{way.allowed ? words.heat.minutes(way.minutes, way.plan_minutes ?? undefined) : words.heat.notAllowed(way.why_not ?? "")}{way.chosen ? ` · ${words.heat.taken}` : ""}</span>
          </button>
        ))}
      </div>
    </section>
  );
}
