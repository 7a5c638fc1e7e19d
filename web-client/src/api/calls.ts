import type { Answer } from "./answer";
import { door } from "./line";
import type * as S from "./shapes";

/**
 * Every call the screens make, by the thing it speaks of. `seen` is the version that was on the
 * screen, `once` the key under which a repeat has one effect.
 */

const at = encodeURIComponent;
const query = (of: Record<string, string | number | undefined>) => {
  const set = Object.entries(of).flatMap(([name, value]) =>
    value === undefined || value === "" ? [] : [`${name}=${at(String(value))}`],
  );
  return set.length === 0 ? "" : `?${set.join("&")}`;
};
const get = <T>(path: string, signal?: AbortSignal) => door.ask<T>({ path, ...(signal === undefined ? {} : { signal }) });
/** The most that the server gives in one page. */
const MOST = 200;

/** A whole list, page after page; what a page holds beside the list is that of the first. */
async function whole<T extends { items: unknown[]; next?: string | null }>(path: string, of: Record<string, string> = {}): Promise<Answer<T>> {
  const first = await get<T>(`${path}${query({ ...of, limit: MOST })}`);
  if (first.kind !== "ok") return first;
  const items = [...first.value.items];
  let { next } = first.value;
  while (next != null) {
    const more = await get<T>(`${path}${query({ ...of, limit: MOST, cursor: next })}`);
    if (more.kind !== "ok") return more;
    items.push(...more.value.items);
    ({ next } = more.value);
  }
  return { ...first, value: { ...first.value, items, next: null } };
}

const post = <T>(path: string, body: unknown, once: string, seen?: number) =>
  door.ask<T>({ method: "POST", path, once, ...(body === undefined ? {} : { body }), ...(seen === undefined ? {} : { seen }) });
const put = <T>(path: string, body?: unknown, seen?: number) =>
  door.ask<T>({ method: "PUT", path, ...(body === undefined ? {} : { body }), ...(seen === undefined ? {} : { seen }) });
const patch = <T>(path: string, body: unknown, seen: number) => door.ask<T>({ method: "PATCH", path, body, seen });
const drop = <T>(path: string, seen?: number) =>
  door.ask<T>({ method: "DELETE", path, ...(seen === undefined ? {} : { seen }) });

export const board = () => get<S.Board>("/board");

export const sessions = {
  list: () => whole<S.Sessions>("/sessions"),
  end: (id: string) => drop<undefined>(`/sessions/${at(id)}`),
  // Neither takes a key: asked twice, the newer link works; changed twice, the old password no longer fits.
  forgotten: (email: string) => door.ask<undefined>({ method: "POST", path: "/sessions/forgotten-password", body: { email } }),
  changePassword: (change: S.PasswordChange) => door.ask<undefined>({ method: "POST", path: "/sessions/current/password", body: change }),
};

export const people = {
  list: () => whole<S.People>("/people"),
  get: (id: string) => get<S.Person>(`/people/${at(id)}`),
  add: (person: S.NewPerson, once: string) => post<S.Person>("/people", person, once),
  invite: (id: string, once: string) => post<S.Person>(`/people/${at(id)}/invitation`, undefined, once),
  edit: (id: string, edit: S.PersonEdit, seen: number) => patch<S.Person>(`/people/${at(id)}`, edit, seen),
};

export const shop = {
  get: () => get<S.Shop>("/shop"),
  edit: (edit: S.ShopEdit, seen: number) => patch<S.Shop>("/shop", edit, seen),
};

export const families = () => whole<S.Families>("/families");
export const familyMap = (family: S.Family) => get<S.FamilyMap>(`/families/${at(family)}/part-map`);
export const evening = {
  day: () => get<S.Evening>("/evening"),
  look: (once: string) => post<S.BenchLook>("/evening/bench-looks", undefined, once),
};
export const forecast = {
  all: () => get<S.Forecast>("/forecast"),
  // Asked for by POST because the question is long; it keeps nothing, so it needs no key.
  ofNew: (asked: S.AskedForecast, signal?: AbortSignal) =>
    door.ask<S.NewOrdersForecast>({ method: "POST", path: "/forecast", body: asked, ...(signal === undefined ? {} : { signal }) }),
};
export const methods = () => whole<S.Methods>("/methods");
export const addMethod = (method: S.NewMethod, once: string) => post<S.Method>("/methods", method, once);
export const amendMethod = (id: string, edit: S.MethodEdit, seen: number) => patch<S.Method>(`/methods/${at(id)}`, edit, seen);
export const bench = () => get<S.ShopBench>("/shop/bench");
export const setBench = (settings: S.BenchSettings, seen: number) => put<S.ShopBench>("/shop/bench", settings, seen);
export const places = () => whole<S.Places>("/places");

export const customers = {
  search: (q: string, limit: number, signal?: AbortSignal) =>
    get<S.Page<S.Customer>>(`/customers${query({ q, limit })}`, signal),
};

export const instruments = {
  of: (owner: string) => whole<S.Instruments>("/instruments", { owner }),
  map: (id: string) => get<S.OrderMap>(`/instruments/${at(id)}/part-map`),
  amendMap: (id: string, change: S.PartMapChange, seen: number) => patch<S.OrderMap>(`/instruments/${at(id)}/part-map`, change, seen),
  history: (id: string) => get<S.InstrumentHistory>(`/instruments/${at(id)}/history`),
};

export const orders = {
  list: (of: { q?: string; stage?: string; limit?: number; cursor?: string }, signal?: AbortSignal) =>
    get<S.Page<S.OrderLine>>(`/work-orders${query(of)}`, signal),
  get: (number: string) => get<S.WorkOrder>(`/work-orders/${at(number)}`),
  map: (id: string) => get<S.OrderMap>(`/work-orders/${at(id)}/map`),
  checkIn: (order: S.NewWorkOrder, once: string) => post<S.WorkOrder>("/work-orders", order, once),
  edit: (id: string, edit: S.WorkOrderEdit, seen: number) => patch<S.WorkOrder>(`/work-orders/${at(id)}`, edit, seen),
  move: (id: string, move: S.NewStageChange, once: string, seen: number) =>
    post<S.StageChange>(`/work-orders/${at(id)}/stage-changes`, move, once, seen),
  claim: (id: string, seen: number, hand?: S.ClaimWish) =>
    put<S.WorkOrder>(`/work-orders/${at(id)}/claim`, hand ?? {}, seen),
  giveBack: (id: string, seen: number) => drop<S.WorkOrder>(`/work-orders/${at(id)}/claim`, seen),
  end: (id: string, ending: S.NewEnding, once: string, seen: number) =>
    post<S.WorkOrder>(`/work-orders/${at(id)}/ending`, ending, once, seen),
  confirmEnd: (id: string, once: string, seen: number) =>
    post<S.WorkOrder>(`/work-orders/${at(id)}/ending/confirmation`, undefined, once, seen),
  takeEndBack: (id: string, seen: number) => drop<S.WorkOrder>(`/work-orders/${at(id)}/ending`, seen),
  hold: (id: string, hold: S.NewHold, once: string) =>
    post<S.Hold>(`/work-orders/${at(id)}/holds`, hold, once),
  note: (id: string, text: string, once: string) => post<S.Note>(`/work-orders/${at(id)}/notes`, { text }, once),
  pay: (id: string, payment: S.NewPayment, once: string) =>
    post<S.Payment>(`/work-orders/${at(id)}/payments`, payment, once),
  issueLink: (id: string, purpose: S.LinkPurpose, once: string) =>
    post<S.Link>(`/work-orders/${at(id)}/links`, { purpose }, once),
  handOver: (id: string, handover: S.NewHandover, once: string, seen: number) =>
    post<S.WorkOrder>(`/work-orders/${at(id)}/handover`, handover, once, seen),
  doneAtCounter: (id: string, visit: S.DoneAtCounter, once: string, seen: number) =>
    post<S.WorkOrder>(`/work-orders/${at(id)}/done-at-counter`, visit, once, seen),
};

export const payments = {
  strike: (id: string, reason: string, once: string) => post<S.Payment>(`/payments/${at(id)}/strike`, { reason }, once),
};
export const holds = { lift: (id: string, seenOrder: number) => drop<S.Hold>(`/holds/${at(id)}`, seenOrder) };
export const links = { withdraw: (id: string, seenOrder: number) => drop<S.Link>(`/links/${at(id)}`, seenOrder) };
export const letters = {
  get: (id: string) => get<S.LetterText>(`/letters/${at(id)}`),
  again: (id: string, once: string) => post<S.Letter>(`/letters/${at(id)}/send-again`, undefined, once),
};

export const findings = {
  add: (order: string, finding: S.NewFinding, once: string) =>
    post<S.Finding>(`/work-orders/${at(order)}/findings`, finding, once),
  edit: (id: string, edit: S.FindingEdit, seen: number) => patch<S.Finding>(`/findings/${at(id)}`, edit, seen),
};

export const photos = {
  add: (order: string, picture: Blob, { finding_id, caption, shared }: S.NewPhoto, once: string) =>
    door.ask<S.Photo>({ method: "POST", path: `/work-orders/${at(order)}/photos${query({ finding_id, caption, shared: shared === true ? "true" : undefined })}`, picture, once }),
  edit: (id: string, edit: S.PhotoEdit, seen: number) => patch<S.Photo>(`/photos/${at(id)}`, edit, seen),
  picture: (id: string, size: S.PhotoSize, signal: AbortSignal) => door.picture(`/photos/${at(id)}/picture${query({ size })}`, signal),
};

export const operations = {
  get: (id: string) => get<S.Operation>(`/operations/${at(id)}`),
  add: (order: string, operation: S.NewOperation, once: string) =>
    post<S.Operation>(`/work-orders/${at(order)}/operations`, operation, once),
  edit: (id: string, edit: S.OperationEdit, seen: number) => patch<S.Operation>(`/operations/${at(id)}`, edit, seen),
  claim: (id: string, seen: number) => put<S.Operation>(`/operations/${at(id)}/claim`, undefined, seen),
  giveBack: (id: string, seen: number) => drop<S.Operation>(`/operations/${at(id)}/claim`, seen),
  time: (id: string, action: "start" | "stop" | "done", once: string, stop_other?: boolean) =>
    post<S.Operation>(`/operations/${at(id)}/time`, { action, ...(stop_other === undefined ? {} : { stop_other }) }, once),
};

export const plan = {
  get: (order: string) => get<S.Plan>(`/work-orders/${at(order)}/plan`),
  fix: (order: string, own: { steps: S.FixedStep[]; reason?: string }, seen: number) => put<S.Plan>(`/work-orders/${at(order)}/plan`, own, seen),
  choose: (order: string, way: S.NewWay, once: string, seenOrder: number) => post<S.Operation>(`/work-orders/${at(order)}/plan/ways`, way, once, seenOrder),
};

export const quotes = {
  draft: (order: string, quote: S.NewQuote, once: string) => post<S.Quote>(`/work-orders/${at(order)}/quotes`, quote, once),
  write: (id: string, quote: S.NewQuote, seen: number) => door.ask<S.Quote>({ method: "PUT", path: `/quotes/${at(id)}`, body: quote, seen, lasting: true }),
  drop: (id: string, seen: number) => drop<undefined>(`/quotes/${at(id)}`, seen),
  send: (id: string, once: string, seenOrder: number) => post<S.Quote>(`/quotes/${at(id)}/send`, undefined, once, seenOrder),
  decide: (id: string, decision: S.NewDecision, once: string) => post<S.Decision>(`/quotes/${at(id)}/decisions`, decision, once),
  dispute: (decision: string, dispute: S.NewDispute, once: string) =>
    post<S.Decision>(`/decisions/${at(decision)}/dispute`, dispute, once),
};

export const papers = {
  tag: (order: string, paper: S.TagPaper, once: string) => post<S.Paper>(`/work-orders/${at(order)}/tag`, { paper }, once),
  receipt: (order: string, together: readonly string[], once: string) => post<S.Paper>(`/work-orders/${at(order)}/receipt`, { together_with: together }, once),
};

export const ring = {
  list: () => get<S.RingList>("/ring-list"),
  of: (order: string) => whole<S.Calls>(`/work-orders/${at(order)}/calls`),
  note: (order: string, call: S.NewCall, once: string) => post<S.Call>(`/work-orders/${at(order)}/calls`, call, once),
  strike: (call: string, reason: string, once: string) => post<S.Call>(`/calls/${at(call)}/strike`, { reason }, once),
};

export const fits = {
  preview: (order: string, fit: { fit_kind: S.FitKind; measured: S.FitMeasured }, signal?: AbortSignal) =>
    door.ask<S.FitAnswer>({ method: "POST", path: `/work-orders/${at(order)}/fit-checks/preview`, body: fit, ...(signal === undefined ? {} : { signal }) }),
  add: (order: string, fit: S.NewFitCheck, once: string) => post<S.FitCheck>(`/work-orders/${at(order)}/fit-checks`, fit, once),
};

export const tests = {
  // Computes and keeps nothing, so it needs no key.
  preview: (order: string, pressure: S.PressureTest, signal?: AbortSignal) =>
    door.ask<S.PressureAnswer>({ method: "POST", path: `/work-orders/${at(order)}/tests/preview`, body: pressure, ...(signal === undefined ? {} : { signal }) }),
  add: (order: string, test: S.NewTest, once: string, seenOrder: number) =>
    post<S.Test>(`/work-orders/${at(order)}/tests`, test, once, seenOrder),
};
