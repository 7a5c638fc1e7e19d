import { randomUUID } from "node:crypto";
import type {
  Because, Finding, Link, LinkPurpose, NewFinding, NewHandover, NewHold, NewOperation, NewPerson, NewQuote, NewTest, NewWorkOrder,
  Operation, OwnersAnswer, Photo, Quote, Session, Shop, ShopEdit, Stage, Test, WorkOrder,
} from "../../../web-client/src/api/shapes";

/** Somebody of the shop at the REST interface: sets the scene that a screen is then looked at in. */
export class Desk {
  private constructor(
    private readonly base: string,
    private readonly token: string,
    readonly session: Session,
  ) {}

  static async signIn(url: string, email: string, password: string): Promise<Desk> {
    const base = `${url}/api/v1`;
    const session = await ask<Session>(`${base}/sessions`, "POST", {}, { email, password });
    return new Desk(base, session.access_token, session);
  }

  private ask<T>(method: string, path: string, body?: unknown, seen?: number): Promise<T> {
    const headers = {
      Authorization: `Bearer ${this.token}`,
      ...(method === "POST" ? { "Idempotency-Key": randomUUID() } : {}),
      ...(seen === undefined ? {} : { "If-Match": `"${seen}"` }),
    };
    return ask<T>(this.base + path, method, headers, body);
  }

  addPerson = (person: NewPerson) => this.ask<unknown>("POST", "/people", person);
  shop = () => this.ask<Shop>("GET", "/shop");
  amendShop = async (edit: ShopEdit) => this.ask<Shop>("PATCH", "/shop", edit, (await this.shop()).version);
  checkIn = (order: NewWorkOrder) => this.ask<WorkOrder>("POST", "/work-orders", order);
  order = (id: string) => this.ask<WorkOrder>("GET", `/work-orders/${id}`);
  claim = async (id: string) => this.ask<WorkOrder>("PUT", `/work-orders/${id}/claim`, {}, (await this.order(id)).version);
  move = async (id: string, to: Stage, because: Because, reason?: string) =>
    this.ask<unknown>("POST", `/work-orders/${id}/stage-changes`, { to, because, ...(reason === undefined ? {} : { reason }) }, (await this.order(id)).version);
  find = (id: string, finding: NewFinding) => this.ask<Finding>("POST", `/work-orders/${id}/findings`, finding);
  amendFinding = (id: string, edit: object, seen: number) => this.ask<Finding>("PATCH", `/findings/${id}`, edit, seen);
  /** A picture drawn by the browser, pinned to a finding. */
  photo = async (id: string, beside: { finding_id?: string; caption?: string; shared?: boolean }, picture: Buffer) => {
    const query = new URLSearchParams(Object.entries(beside).map(([name, value]) => [name, String(value)]));
    const answer = await fetch(`${this.base}/work-orders/${id}/photos?${query}`, {
      method: "POST",
      headers: { Authorization: `Bearer ${this.token}`, "Idempotency-Key": randomUUID(), "Content-Type": "image/png" },
      body: new Uint8Array(picture),
    });
    if (!answer.ok) throw new Error(`a photo: ${answer.status} ${await answer.text()}`);
    return await answer.json() as Photo;
  };
  plan = (id: string, step: NewOperation) => this.ask<Operation>("POST", `/work-orders/${id}/operations`, step);
  amendStep = (id: string, edit: object, seen: number) => this.ask<Operation>("PATCH", `/operations/${id}`, edit, seen);
  clock = (id: string, action: "start" | "stop" | "done") => this.ask<Operation>("POST", `/operations/${id}/time`, { action, stop_other: true });
  draft = (id: string, quote: NewQuote) => this.ask<Quote>("POST", `/work-orders/${id}/quotes`, quote);
  send = async (id: string, quote: string) => this.ask<Quote>("POST", `/quotes/${quote}/send`, undefined, (await this.order(id)).version);
  answer = (quote: Quote, answer: OwnersAnswer, typed_name: string, question?: string) =>
    this.ask<unknown>("POST", `/quotes/${quote.id}/decisions`, {
      quote_version: quote.number, content_hash: quote.content_hash ?? "", answer, how: "phone", typed_name,
      chosen_lines: [], accepted_by_name: [], ...(question === undefined ? {} : { question }),
    });
  test = (id: string, test: NewTest) => this.ask<Test>("POST", `/work-orders/${id}/tests`, test);
  end = async (id: string, because: Because, reason: string) => this.ask<WorkOrder>("POST", `/work-orders/${id}/ending`, { because, reason }, (await this.order(id)).version);
  hold = (id: string, hold: NewHold) => this.ask<unknown>("POST", `/work-orders/${id}/holds`, hold);
  note = (id: string, text: string) => this.ask<unknown>("POST", `/work-orders/${id}/notes`, { text });
  link = (id: string, purpose: LinkPurpose) => this.ask<Link>("POST", `/work-orders/${id}/links`, { purpose });
  withdraw = (link: Link) => this.ask<unknown>("DELETE", `/links/${link.id}`, undefined, link.order_version);
  handOver = async (id: string, handover: NewHandover) => this.ask<WorkOrder>("POST", `/work-orders/${id}/handover`, handover, (await this.order(id)).version);
}

async function ask<T>(address: string, method: string, headers: Record<string, string>, body?: unknown): Promise<T> {
  const answer = await fetch(address, {
    method,
    headers: { ...headers, ...(body === undefined ? {} : { "Content-Type": "application/json" }) },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
  const text = await answer.text();
  if (!answer.ok) throw new Error(`${method} ${address}: ${answer.status} ${text}`);
  return JSON.parse(text === "" ? "null" : text) as T;
}
