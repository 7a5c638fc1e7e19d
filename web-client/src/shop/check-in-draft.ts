import type { Customer, CustomerKind, Family, Instrument, MailWanted, MarkKind, NewWorkOrder } from "../api/shapes";
import { readAmount } from "./money";
import { LEAST_OF_TWENTY } from "./twenty";

/** Somebody the shop does not know yet, as typed. */
export type NewPersonDraft = { kind: CustomerKind; name: string; phone: string; email: string; mail_wanted: MailWanted };

/** What the counter saw on a part; where along it, in mm, when it was pointed at. */
export type CounterMark = { part: string; kind: MarkKind; position_mm?: number | undefined };

/** A check-in while it is being filled in; survives a reload and signing out for a day. */
export type CheckInDraft = {
  /** What was typed into the search. */
  typed: string;
  customer: Customer | "new" | undefined;
  newCustomer: NewPersonDraft;
  /** Whether somebody else than who brings it decides and pays. */
  ownerApart: boolean;
  ownerTyped: string;
  owner: Customer | "new" | undefined;
  newOwner: NewPersonDraft;
  instrument: Instrument | "new" | undefined;
  newInstrument: { family: Family | ""; maker: string; model: string; serial_number: string; age_text: string; finish: string; owners_number: string };
  complaint: string;
  marks: CounterMark[];
  conditionNote: string;
  keepAsIs: string;
  accessories: string[];
  /** Of an instrument that the customer has meanwhile. */
  loanerNumber: string;
  oldPartsBack: boolean;
  place: string;
  mayCost: string;
  examinationFee: string;
  promisedOn: string;
  /** Why this day, where few jobs like this would be ready by then. */
  promiseReason: string;
};

function emptyPerson(): NewPersonDraft {
  return { kind: "person", name: "", phone: "", email: "", mail_wanted: "every_change" };
}

export function emptyDraft(): CheckInDraft {
  return {
    typed: "",
    customer: undefined,
    newCustomer: emptyPerson(),
    ownerApart: false,
    ownerTyped: "",
    owner: undefined,
    newOwner: emptyPerson(),
    instrument: undefined,
    newInstrument: { family: "", maker: "", model: "", serial_number: "", age_text: "", finish: "", owners_number: "" },
    complaint: "",
    marks: [],
    conditionNote: "",
    keepAsIs: "",
    accessories: [],
    loanerNumber: "",
    oldPartsBack: false,
    place: "",
    mayCost: "",
    examinationFee: "",
    promisedOn: "",
    promiseReason: "",
  };
}

/** The draft for the next instrument of the same customer, and of the same owner where that is somebody else. */
export function nextOf(draft: CheckInDraft, customer: Customer, owner: Customer): CheckInDraft {
  return {
    ...emptyDraft(), typed: customer.name, customer, promisedOn: draft.promisedOn, promiseReason: draft.promiseReason, mayCost: draft.mayCost, examinationFee: draft.examinationFee,
    ...(draft.ownerApart ? { ownerApart: true, ownerTyped: owner.name, owner } : {}),
  };
}

/** Nobody else decides and pays, after all. */
export function withoutOwner(): Pick<CheckInDraft, "ownerApart" | "ownerTyped" | "owner" | "newOwner"> {
  return { ownerApart: false, ownerTyped: "", owner: undefined, newOwner: emptyPerson() };
}

/** Sets the mark in its place, or takes it away where it is set. */
export function toggleMark(marks: readonly CounterMark[], mark: CounterMark): CounterMark[] {
  const rest = marks.filter((one) => !isSameMark(one, mark));
  return rest.length === marks.length ? [...marks, mark] : rest;
}

/** Two marks of one kind on one part are one only in the same place. */
export function isSameMark(a: CounterMark, b: CounterMark): boolean {
  return a.part === b.part && a.kind === b.kind && a.position_mm === b.position_mm;
}

/** How often a kind of mark is set. */
export function countMarks(marks: readonly CounterMark[], kind?: MarkKind): number {
  return marks.filter((one) => kind === undefined || one.kind === kind).length;
}

/** What keeps the check-in from being made, by the step (from 1) where it is put right. */
export type Missing = { step: 1 | 2 | 3 | 7 | 8; what: "who" | "owner" | "phone" | "ownerPhone" | "what" | "says" | "amount" | "fee" | "date" | "past" | "reason" };

/** `ofTwenty`: how many of twenty jobs like this would be ready by the day chosen, where that is known. */
export function missingIn(draft: CheckInDraft, today: string, currency: string, ofTwenty?: number): Missing[] {
  const missing: Missing[] = [];
  if (isNobody(draft.customer, draft.newCustomer)) missing.push({ step: 1, what: "who" });
  if (draft.ownerApart && isNobody(draft.owner, draft.newOwner)) missing.push({ step: 1, what: "owner" });
  if (draft.customer === "new" && !isPhone(draft.newCustomer.phone)) missing.push({ step: 1, what: "phone" });
  if (draft.ownerApart && draft.owner === "new" && !isPhone(draft.newOwner.phone)) missing.push({ step: 1, what: "ownerPhone" });
  if (draft.instrument === undefined || (draft.instrument === "new" && draft.newInstrument.family === "")) missing.push({ step: 2, what: "what" });
  if (draft.complaint.trim() === "") missing.push({ step: 3, what: "says" });
  if (draft.mayCost.trim() !== "" && readAmount(draft.mayCost, currency) === undefined) missing.push({ step: 7, what: "amount" });
  if (draft.examinationFee.trim() !== "" && readAmount(draft.examinationFee, currency) === undefined) missing.push({ step: 7, what: "fee" });
  if (draft.promisedOn === "") missing.push({ step: 8, what: "date" });
  else if (draft.promisedOn < today) missing.push({ step: 8, what: "past" });
  else if (asksWhy(ofTwenty) && draft.promiseReason.trim() === "") missing.push({ step: 8, what: "reason" });
  return missing;
}

/** Whether this can stand in the field for a telephone number: letters cannot be dialled. Empty is none, and allowed. */
export function isPhone(typed: string): boolean {
  const written = /^([\d+()\-./ ]*)(?:ext\.? *\d{1,6})?$/i.exec(typed.trim());
  return typed.trim() === "" || (written?.[1] ?? "").replaceAll(/\D/g, "").length >= 3;
}

/** Whether somebody can be rung or written to. */
export function isReachable({ phone, email }: { phone?: string | null; email?: string | null }): boolean {
  return Boolean(phone?.trim()) || Boolean(email?.trim());
}

/** Whether so few of twenty would be ready by the day chosen that the person says why it is told nevertheless. */
export function asksWhy(ofTwenty: number | undefined): boolean {
  return ofTwenty !== undefined && ofTwenty < LEAST_OF_TWENTY;
}

function isNobody(chosen: Customer | "new" | undefined, typed: NewPersonDraft): boolean {
  return chosen === undefined || (chosen === "new" && typed.name.trim() === "");
}

/** The order a complete draft asks for; `undefined` while something is missing. */
export function orderOf(draft: CheckInDraft, today: string, currency: string, language: string, ofTwenty?: number): NewWorkOrder | undefined {
  const family = draft.newInstrument.family;
  if (missingIn(draft, today, currency, ofTwenty).length > 0 || draft.customer === undefined || draft.instrument === undefined) return undefined;
  const amount = (typed: string) => {
    const read = readAmount(typed, currency);
    return read === undefined ? null : { amount: read, currency };
  };
  const asNew = ({ kind, mail_wanted, name, phone, email }: NewPersonDraft) => ({ kind, mail_wanted, language, name: name.trim(), ...filled({ phone, email }) });
  const { family: _, ...about } = draft.newInstrument;
  return {
    ...(draft.customer === "new" ? { customer: asNew(draft.newCustomer) } : { customer_id: draft.customer.id }),
    ...(!draft.ownerApart || draft.owner === undefined ? {} : draft.owner === "new" ? { owner: asNew(draft.newOwner) } : { owner_id: draft.owner.id }),
    ...(draft.instrument !== "new" ? { instrument_id: draft.instrument.id } : family === "" ? {} : { instrument: { family, ...filled(about) } }),
    complaint: draft.complaint.trim(),
    counter_marks: draft.marks.map(({ part, kind, position_mm }) => ({ part, kind, ...(position_mm === undefined ? {} : { position_mm: String(position_mm) }) })),
    accessories: draft.accessories,
    may_cost: amount(draft.mayCost),
    examination_fee: amount(draft.examinationFee),
    promised_on: draft.promisedOn,
    ...(asksWhy(ofTwenty) ? { promise_reason: draft.promiseReason.trim() } : {}),
    ...filled({ condition_note: draft.conditionNote, keep_as_is: draft.keepAsIs, place: draft.place, loaner_number: draft.loanerNumber }),
    ...(draft.oldPartsBack ? { old_parts_back: true } : {}),
  };
}

/** Only the entries that hold something: an empty optional field is left out, not sent empty. */
function filled<K extends string>(entries: Record<K, string>): Partial<Record<K, string>> {
  const kept: Partial<Record<K, string>> = {};
  for (const key in entries) {
    const text = entries[key].trim();
    if (text !== "") kept[key] = text;
  }
  return kept;
}

/** Whether the customer's name, telephone or e-mail holds what was typed, accents and case aside. */
export function holds(customer: Pick<Customer, "name" | "phone" | "email">, typed: string): boolean {
  const bare = (text: string) => text.normalize("NFD").replaceAll(/\p{M}/gu, "").toLowerCase();
  const digits = typed.replaceAll(/\D/g, "");
  return (
    bare(customer.name).includes(bare(typed)) ||
    bare(customer.email ?? "").includes(bare(typed)) ||
    (digits.length >= 3 && (customer.phone ?? "").replaceAll(/\D/g, "").includes(digits))
  );
}
