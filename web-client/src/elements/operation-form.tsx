import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { BenchSettings, Heat, JointKind, Method, NewOperation, Operation, OperationKind, WorkOrder } from "../api/shapes";
import { heatOf, jointsToChoose, minutesOf, rangeAround } from "../shop/joints";
import { ownJobs } from "../shop/own-jobs";
import { methods, offeredMethods, partWords, shopHere } from "../store";
import { words } from "../words";
import { findingWords } from "./finding-form";
import { useOrderMap } from "./use-order-map";
import { amountOf, isOneOf, Options, SelectField, TextField, Tick } from "./form";

/** A step as it is being written; minutes and price are texts until they are read. */
export type Draft = {
  method: string;
  title: string;
  kind: OperationKind;
  /** For taking apart and putting together: the joint or brace, by its id on the map. */
  joint: string;
  heat: Heat;
  irreversible: boolean;
  findings: ReadonlySet<string>;
  after: ReadonlySet<string>;
  low: string;
  typical: string;
  high: string;
  price: string;
};

export function draftOf(operation: Operation | undefined, findings: readonly string[]): Draft {
  return {
    method: operation?.method_id ?? "",
    title: operation?.title ?? "",
    kind: operation?.kind ?? "work",
    joint: operation?.joint ?? "",
    heat: operation?.heat ?? "none",
    irreversible: operation?.irreversible ?? false,
    findings: new Set(operation?.finding_ids ?? findings),
    after: new Set(operation?.after ?? []),
    low: String(operation?.minutes.low ?? ""),
    typical: String(operation?.minutes.typical ?? ""),
    high: String(operation?.minutes.high ?? ""),
    price: operation?.price.amount ?? "",
  };
}

/** A step that is not planned yet, as it would be planned, to be given a price or other minutes. */
export function draftFrom(step: NewOperation): Draft {
  const { low = "", typical = "", high = "" } = step.minutes ?? {};
  return {
    ...draftOf(undefined, step.finding_ids ?? []),
    title: step.title ?? "", kind: step.kind ?? "work", joint: step.joint ?? "", heat: step.heat ?? "none",
    after: new Set(step.after ?? []), low: String(low), typical: String(typical), high: String(high), price: step.price?.amount ?? "",
  };
}

/** A step that says everything. */
export type Step = NewOperation & Pick<Operation, "title" | "finding_ids" | "after" | "minutes" | "price">;

/** The step a draft says, or the first field that is wrong with it. */
export function readDraft(draft: Draft): { step: Step } | { wrong: "title" | "minutes" | "price" } {
  const minutes = [draft.low, draft.typical, draft.high].map((text) => (/^\d+$/.test(text.trim()) ? Number(text) : Number.NaN));
  const [low = Number.NaN, typical = Number.NaN, high = Number.NaN] = minutes;
  const price = amountOf(draft.price);
  if (draft.title.trim() === "") return { wrong: "title" };
  if (!(low <= typical && typical <= high)) return { wrong: "minutes" };
  if (price === undefined) return { wrong: "price" };
  return {
    step: {
      title: draft.title.trim(),
      kind: draft.kind,
      ...(draft.joint === "" || draft.kind === "work" ? {} : { joint: draft.joint }),
      ...(draft.method === "" ? {} : { method_id: draft.method }),
      heat: draft.heat,
      irreversible: draft.irreversible,
      finding_ids: [...draft.findings],
      after: [...draft.after],
      minutes: { low, typical, high },
      price,
    },
  };
}

/** The fields of a step: a method of the shop fills them, and everything can be changed. */
export function OperationFields({ order, draft, onDraft, wrong, self }: {
  order: WorkOrder;
  draft: Draft;
  onDraft: (draft: Draft) => void;
  wrong: "title" | "minutes" | "price" | undefined;
  self?: string;
}) {
  const shop = shopHere();
  const [all, showAll] = useState(false);
  const set = (change: Partial<Draft>) => onDraft({ ...draft, ...change });
  function take(method: Method | undefined) {
    if (method === undefined) return set({ method: "" });
    const { low, typical, high } = method.minutes;
    set({
      method: method.id,
      title: draft.title === "" || methods.value.some((one) => one.name === draft.title) ? method.name : draft.title,
      heat: method.heat,
      irreversible: method.irreversible,
      low: String(low),
      typical: String(typical),
      high: String(high),
      price: method.price.amount,
    });
  }
  const own = ownJobs(methods.value.find((one) => one.id === draft.method), draft);
  const toggle = (set: ReadonlySet<string>, id: string, on: boolean) => {
    const next = new Set(set);
    if (on) next.add(id);
    else next.delete(id);
    return next;
  };
  const repairs = order.findings.filter((one) => !one.struck_reason && (one.disposition === "repair" || one.disposition === "undecided" || draft.findings.has(one.id)));
  const steps = order.operations.filter((one) => one.state !== "struck" && one.id !== self);
  const { map } = useOrderMap(order);
  const joints = map === undefined ? [] : jointsToChoose(map.map);
  const [settings, setSettings] = useState<BenchSettings>();
  const isWork = draft.kind === "work";
  useEffect(() => {
    if (!isWork) void calls.bench().then((answer) => { if (answer.kind === "ok") setSettings(answer.value.settings); });
  }, [isWork]);
  /** The shop's own minutes for it, where nobody has typed any. */
  const usual = (kind: OperationKind, held: readonly JointKind[] | undefined): Partial<Draft> => {
    const minutes = held === undefined || settings === undefined ? undefined : minutesOf(held, kind === "take_apart" ? settings.take_apart_minutes : settings.put_together_minutes);
    if (minutes === undefined || [draft.low, draft.typical, draft.high].some((text) => text !== "")) return {};
    const { low, typical, high } = rangeAround(minutes);
    return { low: String(low), typical: String(typical), high: String(high), ...(draft.price === "" ? { price: "0" } : {}) };
  };
  // A title that only says what is done to a joint follows the joint and the kind.
  const titled = (kind: OperationKind, id: string): Partial<Draft> => {
    const isOwn = draft.title !== "" && !Object.values(words.operationKinds).includes(draft.title) && !joints.some((one) => draft.title === words.workTab.takeApart(one.name) || draft.title === words.workTab.putTogether(one.name));
    const joint = joints.find((one) => one.id === id);
    if (isOwn) return {};
    return { title: kind === "work" ? "" : joint === undefined ? words.operationKinds[kind] : kind === "take_apart" ? words.workTab.takeApart(joint.name) : words.workTab.putTogether(joint.name) };
  };
  return (
    <>
      <div class="cols">
        {self === undefined && <SelectField label={words.workTab.method} value={draft.method} onInput={(event) => take(methods.value.find((one) => one.id === event.currentTarget.value))}>
          <option value="">{words.workTab.ownMethod}</option>
          {offeredMethods.value.map((method) => <option key={method.id} value={method.id}>{method.name}</option>)}
        </SelectField>}
        <TextField label={words.workTab.what} value={draft.title} fault={wrong === "title" ? words.common.required : undefined} onInput={(event) => set({ title: event.currentTarget.value })} />
      </div>
      <div class="cols">
        <div class="field">
          <span>{words.workTab.minutes}</span>
          <div class="cols three">
            {(["low", "typical", "high"] as const).map((name) => (
              <TextField key={name} label={words.workTab[name]} hideLabel placeholder={words.workTab[name]} inputMode="numeric" class="num" value={draft[name]} onInput={(event) => set({ [name]: event.currentTarget.value })} />
            ))}
          </div>
          {own !== undefined && <small>{words.workTab.ownMinutes(own)}</small>}
          {wrong === "minutes" && <p class="fault">{words.workTab.order.first}</p>}
        </div>
        <TextField
          label={words.workTab.price}
          inputMode="decimal"
          class="num"
          value={draft.price}
          fault={wrong === "price" ? words.checkIn.noAmount(shop.currency) : undefined}
          onInput={(event) => set({ price: event.currentTarget.value })}
        />
      </div>
      <fieldset>
        <legend>{words.workTab.findings}</legend>
        <div class="tickbox">
          {repairs.length === 0 && <span class="quiet">{words.workTab.noFindings}</span>}
          {repairs.map((one) => (
            <Tick
              key={one.id}
              label={`${one.number}. ${findingWords(one, partWords(order.instrument.family, one.part))}`}
              checked={draft.findings.has(one.id)}
              onInput={(event) => set({ findings: toggle(draft.findings, one.id, event.currentTarget.checked) })}
            />
          ))}
        </div>
      </fieldset>
      {all || self !== undefined || draft.kind !== "work" || draft.after.size > 0 || draft.irreversible ? (
        <>
          {/* What kind of step it is stays: another kind is another step. */}
          {self === undefined && <div class="cols aligned">
            <SelectField label={words.workTab.kind} value={draft.kind} onInput={(event) => {
              const { value } = event.currentTarget;
              if (isOneOf<OperationKind>(words.operationKinds, value)) set({ kind: value, ...titled(value, draft.joint) });
            }}>
              <Options of={words.operationKinds} chosen={draft.kind} />
            </SelectField>
            {draft.kind !== "work" && <SelectField label={words.workTab.joint} help={words.workTab.jointHelp} value={draft.joint} onInput={(event) => {
              const joint = joints.find((one) => one.id === event.currentTarget.value);
              set({ joint: joint?.id ?? "", ...(joint === undefined ? {} : { heat: heatOf(joint.held) }), ...titled(draft.kind, joint?.id ?? ""), ...usual(draft.kind, joint?.held) });
            }}>
              <option value="">{words.workTab.jointNone}</option>
              {joints.map((one) => <option key={one.id} value={one.id} selected={one.id === draft.joint}>{one.name}</option>)}
            </SelectField>}
            <SelectField label={words.workTab.heat} value={draft.heat} onInput={(event) => {
              const { value } = event.currentTarget;
              if (isOneOf<Heat>(words.heats, value)) set({ heat: value });
            }}>
              <Options of={words.heats} chosen={draft.heat} />
            </SelectField>
            <Tick label={words.workTab.irreversible} checked={draft.irreversible} onInput={(event) => set({ irreversible: event.currentTarget.checked })} />
          </div>}
          {steps.length > 0 && (
            <fieldset>
              <legend>{words.workTab.after}</legend>
              <div class="tickbox">
                {steps.map((one) => (
                  <Tick key={one.id} label={`${one.number}. ${one.title}`} checked={draft.after.has(one.id)} onInput={(event) => set({ after: toggle(draft.after, one.id, event.currentTarget.checked) })} />
                ))}
              </div>
            </fieldset>
          )}
        </>
      ) : (
        <button type="button" class="link" onClick={() => showAll(true)}>{words.workTab.more}</button>
      )}
    </>
  );
}
