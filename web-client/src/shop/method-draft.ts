import type { FindingKind, Heat, JointKind, Method, MethodEdit, NewMethod } from "../api/shapes";
import { readAmount } from "./money";

/** A method while it is being written; numbers and price are texts until they are read. */
export type MethodDraft = {
  name: string;
  heat: Heat;
  irreversible: boolean;
  low: string;
  typical: string;
  high: string;
  price: string;
  station: string;
  filler: string;
  heat_c: string;
  joint_kind: string;
  plating_metal: string;
  needs_apart: ReadonlySet<JointKind>;
  answers: ReadonlySet<FindingKind>;
  cautions: ReadonlySet<string>;
  is_offered: boolean;
};

export type MethodFault = "name" | "minutes" | "price" | "heat_c";

/** The draft of a method as it stands; of an empty one for the first station without it. */
export function draftOfMethod(method: Method | NewMethod | undefined, station: string): MethodDraft {
  const minutes = method === undefined ? undefined : "listed_minutes" in method ? method.listed_minutes : method.minutes;
  return {
    name: method?.name ?? "",
    heat: method?.heat ?? "none",
    irreversible: method?.irreversible ?? false,
    low: String(minutes?.low ?? ""),
    typical: String(minutes?.typical ?? ""),
    high: String(minutes?.high ?? ""),
    price: method?.price.amount ?? "",
    station: method?.station ?? station,
    filler: method?.filler ?? "",
    heat_c: String(method?.heat_c ?? ""),
    joint_kind: method?.joint_kind ?? "",
    plating_metal: method?.plating_metal ?? "",
    needs_apart: new Set(method?.needs_apart ?? []),
    answers: new Set(method?.answers ?? []),
    cautions: new Set(method?.cautions ?? []),
    is_offered: method === undefined || !("is_offered" in method) || method.is_offered,
  };
}

/** What a draft says, with null for what is left empty; or everything in it that cannot be read. */
export function readMethod(draft: MethodDraft, currency: string): { method: NewMethod } | { faults: MethodFault[] } {
  const faults: MethodFault[] = [];
  const whole = (text: string) => (/^\d{1,5}$/.test(text.trim()) ? Number(text) : Number.NaN);
  const [low, typical, high] = [whole(draft.low), whole(draft.typical), whole(draft.high)];
  const amount = readAmount(draft.price, currency);
  const isHot = draft.heat !== "none";
  const heat_c = draft.heat_c.trim() === "" || !isHot ? null : whole(draft.heat_c);
  if (draft.name.trim() === "") faults.push("name");
  if (!(low <= typical && typical <= high)) faults.push("minutes");
  if (amount === undefined) faults.push("price");
  if (Number.isNaN(heat_c)) faults.push("heat_c");
  if (faults.length > 0 || amount === undefined) return { faults };
  const orNull = (text: string) => (text === "" ? null : text);
  return {
    method: {
      name: draft.name.trim(), heat: draft.heat, irreversible: draft.irreversible, minutes: { low, typical, high }, price: { amount, currency },
      station: draft.station, filler: isHot ? orNull(draft.filler) : null, heat_c, joint_kind: isHot ? orNull(draft.joint_kind) : null,
      plating_metal: orNull(draft.plating_metal), needs_apart: [...draft.needs_apart], answers: [...draft.answers], cautions: [...draft.cautions],
    },
  };
}

/** Only what is other than it was. */
export function changeOfMethod(was: Method, said: NewMethod, is_offered: boolean): MethodEdit {
  const before: MethodEdit = {
    name: was.name, heat: was.heat, irreversible: was.irreversible, minutes: was.listed_minutes, price: was.price, station: was.station,
    filler: was.filler ?? null, heat_c: was.heat_c ?? null, joint_kind: was.joint_kind ?? null, plating_metal: was.plating_metal ?? null,
    needs_apart: was.needs_apart, answers: was.answers, cautions: was.cautions, is_offered: was.is_offered,
  };
  const sorted = (value: unknown) => JSON.stringify(Array.isArray(value) ? [...value].sort() : value);
  const wanted: MethodEdit = { ...said, is_offered };
  return Object.fromEntries(Object.entries(wanted).filter(([name, value]) => sorted(value) !== sorted(before[name as keyof MethodEdit])));
}
