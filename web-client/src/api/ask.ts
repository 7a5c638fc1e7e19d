import { readAnswer, type Answer } from "./answer";
import type { Session } from "./shapes";

export const BASE = "/api/v1";

/** One question to the server. */
export type Question = {
  method?: "GET" | "POST" | "PUT" | "PATCH" | "DELETE";
  path: string;
  body?: unknown;
  /** Sent as it is, instead of a body. */
  picture?: Blob;
  /** The version that was on the screen: becomes `If-Match`. */
  seen?: number;
  /** The key under which a repeat has one effect: becomes `Idempotency-Key`. */
  once?: string;
  /** Whether the call goes on when the page is left meanwhile. */
  lasting?: boolean;
  signal?: AbortSignal;
};

/** The most a page that is left may still send: 64 KiB in the Fetch standard, less something for calls beside it. */
const LASTING_MOST_BYTES = 48 * 1024;

type Fetch = (input: string, init: RequestInit) => Promise<Response>;

/**
 * The one door to the server. It adds the token, `If-Match` and `Idempotency-Key`, and turns every
 * outcome into an `Answer`. When the token has run out, all calls that wait share one renewal and
 * each is tried once more. The token is kept in memory only.
 *
 * No retry on a cut line here: only the caller knows whether a repeat is wanted, and keeps the key.
 */
export class Door {
  #token: string | undefined;
  #renewal: Promise<Answer<Session>> | undefined;
  readonly #fetch: Fetch;
  readonly #onSession: (session: Session | undefined) => void;
  readonly #onLine: (up: boolean) => void;

  /**
   * `onSession` is told of every new session, and with `undefined` when signing in is needed;
   * `onLine` of every call, whether it reached the server.
   */
  constructor(fetch: Fetch, onSession: (session: Session | undefined) => void, onLine: (up: boolean) => void = () => {}) {
    this.#fetch = fetch;
    this.#onSession = onSession;
    this.#onLine = onLine;
  }

  ask<T>(question: Question): Promise<Answer<T>> {
    return this.#ask<T>(question, readAnswer);
  }

  /** Fetches a picture. */
  picture(path: string, signal: AbortSignal): Promise<Answer<Blob>> {
    return this.#ask({ path, signal }, async (response, now) => (response.ok ? { kind: "ok", value: await response.blob(), version: "" } : readAnswer<Blob>(response, now)));
  }

  async #ask<T>(question: Question, read: (response: Response, now: Date) => Promise<Answer<T>>): Promise<Answer<T>> {
    const sent = this.#token;
    const first = await this.#send(question);
    if (first === undefined) return { kind: "away" };
    if (first.status !== 401 || sent === undefined) return read(first, new Date());
    // Another call may have renewed while this one was under way: its token is then already here.
    if (this.#token === sent) {
      const renewed = await this.renew();
      if (renewed.kind === "away") return renewed;
      if (renewed.kind !== "ok") return read(first, new Date());
    }
    const second = await this.#send(question);
    return second === undefined ? { kind: "away" } : read(second, new Date());
  }

  /**
   * Opens a stream of server-sent events; the caller reads it and comes back when it ends.
   * `undefined` when the server was not reached, 401 when signing in is needed.
   */
  async stream(path: string, lastEventId: string, signal: AbortSignal): Promise<Response | undefined> {
    const open = () =>
      this.#fetch(BASE + path, {
        headers: {
          Accept: "text/event-stream",
          ...(this.#token === undefined ? {} : { Authorization: `Bearer ${this.#token}` }),
          ...(lastEventId === "" ? {} : { "Last-Event-ID": lastEventId }),
        },
        cache: "no-store",
        signal,
      }).catch(() => undefined);
    const first = await open();
    if (first?.status !== 401) return first;
    const renewed = await this.renew();
    if (renewed.kind === "ok") return open();
    // Only a refused renewal means that nobody is signed in; anything else is worth another try.
    return renewed.kind === "problem" && renewed.problem.status === 401 ? first : undefined;
  }

  async signIn(email: string, password: string): Promise<Answer<Session>> {
    return this.#adopt(await this.#plain({ method: "POST", path: "/sessions", body: { email, password } }));
  }

  /** Renews the session by its cookie; all callers at one time share one renewal. */
  renew(): Promise<Answer<Session>> {
    this.#renewal ??= this.#plain({ method: "POST", path: "/sessions/refresh" })
      .then((answer) => this.#adopt(answer))
      .finally(() => {
        this.#renewal = undefined;
      });
    return this.#renewal;
  }

  async signOut(): Promise<void> {
    await this.ask({ method: "DELETE", path: "/sessions/current" });
    this.#token = undefined;
    this.#onSession(undefined);
  }

  #adopt(answer: Answer<Session>): Answer<Session> {
    if (answer.kind === "ok") {
      this.#token = answer.value.access_token;
      this.#onSession(answer.value);
    } else if (answer.kind === "problem" && answer.problem.status === 401) {
      this.#token = undefined;
      this.#onSession(undefined);
    }
    return answer;
  }

  async #plain(question: Question): Promise<Answer<Session>> {
    const response = await this.#send(question);
    return response === undefined ? { kind: "away" } : readAnswer<Session>(response, new Date());
  }

  async #send(question: Question): Promise<Response | undefined> {
    const headers: Record<string, string> = { Accept: "application/json" };
    if (this.#token !== undefined) headers["Authorization"] = `Bearer ${this.#token}`;
    if (question.seen !== undefined) headers["If-Match"] = `"${question.seen}"`;
    if (question.once !== undefined) headers["Idempotency-Key"] = question.once;
    if (question.body !== undefined) headers["Content-Type"] = "application/json";
    if (question.picture !== undefined) headers["Content-Type"] = question.picture.type || "application/octet-stream";
    const body = question.picture ?? (question.body === undefined ? undefined : JSON.stringify(question.body));
    try {
      const response = await this.#fetch(BASE + question.path, {
        method: question.method ?? "GET",
        headers,
        credentials: "same-origin",
        // The server lets nothing of a shop be kept by a browser; this says the same from here.
        cache: "no-cache",
        ...(body === undefined ? {} : { body }),
        ...(question.lasting === true && new Blob([body ?? ""]).size <= LASTING_MOST_BYTES ? { keepalive: true } : {}),
        ...(question.signal === undefined ? {} : { signal: question.signal }),
      });
      this.#onLine(![502, 503, 504].includes(response.status));
      return response;
    } catch {
      // A call given up by the screen itself says nothing about the line.
      if (question.signal?.aborted !== true) this.#onLine(false);
      return undefined;
    }
  }
}
