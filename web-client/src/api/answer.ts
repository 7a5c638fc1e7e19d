import type { Problem, Stale } from "./shapes";

/**
 * Every outcome of a call. A screen switches over `kind` and ends with `never(answer)`, so that
 * a new kind fails the build where it is not yet shown.
 *
 * - `ok`: done; `version` is the entity tag's version, empty where there is none.
 * - `stale`: somebody else changed the thing meanwhile (412).
 * - `problem`: refused, with words for the person.
 * - `away`: the line or the shop's records are out of reach; nothing is known to be done.
 */
export type Answer<T> =
  | { kind: "ok"; value: T; version: string }
  | { kind: "stale"; current: Stale }
  | { kind: "problem"; problem: Problem }
  | { kind: "away"; again_at?: Date };

/** Marks a place that no value can reach. */
export function never(value: never): never {
  throw new Error(`not reachable: ${String(value)}`);
}

/** The version inside an entity tag: `"7"` and `"7-0c5f"` give `7`; without one, an empty text. */
export function versionOf(etag: string | null): string {
  return etag?.match(/^(?:W\/)?"(\d+)(?:-[^"]*)?"$/)?.[1] ?? "";
}

/** When a `Retry-After` header (seconds or a date) says to try again. */
export function againAt(header: string | null, now: Date): Date | undefined {
  if (header === null || header.trim() === "") return undefined;
  const seconds = Number(header);
  const at = Number.isFinite(seconds) ? new Date(now.getTime() + seconds * 1000) : new Date(header);
  return Number.isNaN(at.getTime()) ? undefined : at;
}

/** Turns what the server sent into an `Answer`. Bodies that are no JSON count as none. */
export async function readAnswer<T>(response: Response, now: Date): Promise<Answer<T>> {
  const text = await response.text();
  let body: unknown;
  try {
    body = text === "" ? undefined : JSON.parse(text);
  } catch {
    body = undefined;
  }
  if (response.ok) return { kind: "ok", value: body as T, version: versionOf(response.headers.get("etag")) };
  // A gateway's own 502 to 504 says as little about the shop's records as a cut line does.
  if ([502, 503, 504].includes(response.status)) {
    const again_at = againAt(response.headers.get("retry-after"), now);
    return again_at === undefined ? { kind: "away" } : { kind: "away", again_at };
  }
  const problem = asProblem(body, response.status);
  if (response.status === 412) return { kind: "stale", current: problem as Stale };
  return { kind: "problem", problem };
}

function asProblem(body: unknown, status: number): Problem {
  if (typeof body === "object" && body !== null && "title" in body && typeof body.title === "string") {
    return { type: "about:blank", status, ...body } as Problem;
  }
  return { type: "about:blank", title: "", status };
}
