import { useEffect, useRef } from "preact/hooks";
import type { Stale } from "../api/shapes";
import { clockWords, inShopTime, momentWords } from "../shop/dates";
import { faultWords, saidOnce } from "../shop/pointer-words";
import { signedIn } from "../store";
import { words } from "../words";
import { plainWords } from "./stale-panel";
import type { Refusal } from "./use-act";

/** Who changed a thing meanwhile; the same person did it in another window. */
export function staleTitle(by: string | null | undefined, what: string): string {
  const { name } = signedIn.value?.person ?? {};
  return by != null && by === name ? words.stale.titleYou(what) : words.stale.title(by ?? words.stale.somebody, what);
}

/** What did not go through, why, and the way on; shown where it was tried. */
export function RefusalNote({ refusal, title, onReload }: {
  refusal: Refusal | undefined;
  title?: string;
  /** Where given, a stale version offers to show the thing as it is now. */
  onReload?: () => void;
}) {
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    place.current?.scrollIntoView({ block: "nearest" });
  }, [refusal]);
  if (refusal === undefined) return null;
  const zone = signedIn.value?.shop.time_zone ?? "UTC";
  return (
    <div class="refusal" role="alert" ref={place}>
      {refusal.kind === "away" ? (
        <p>{refusal.again_at === undefined ? words.refused.away : words.refused.awayUntil(clockWords(refusal.again_at, zone))}</p>
      ) : refusal.kind === "stale" ? (
        <>
          <p>
            <b>{staleTitle(refusal.current.changed_by, words.stale.order)}.</b>{" "}
            {(plainDifferences(refusal.current).length > 0 ? words.stale.beside : wasDone(refusal.current).length > 0 ? words.stale.since : words.stale.plain)(clockWords(refusal.current.changed_at ?? new Date(), zone))}
          </p>
          {plainDifferences(refusal.current).length > 0 ? <Beside current={refusal.current} zone={zone} /> : <Since current={refusal.current} zone={zone} />}
          {onReload !== undefined && <button type="button" class="link" onClick={onReload}>{words.refused.reload}</button>}
        </>
      ) : (
        <ProblemWords refusal={refusal} zone={zone} {...(title === undefined ? {} : { title })} />
      )}
    </div>
  );
}

/**
 * The differences that one line can say; a list shows itself on the screen. Nobody types where an
 * order stands: that is told among what was done.
 */
function plainDifferences({ differences, changes }: Stale): NonNullable<Stale["differences"]> {
  const isPlain = (value: unknown) => typeof value !== "object" || value === null;
  const isTyped = (field: string, yours: unknown) => (changes ?? []).length === 0 || (field !== "stage" && yours != null);
  return (differences ?? []).filter(({ field, yours, theirs }) => isTyped(field, yours) && isPlain(yours) && isPlain(theirs));
}

/** How many of the things done meanwhile are listed; of more, the last ones. */
const MOST_LISTED = 6;

function wasDone({ changes }: Stale): NonNullable<Stale["changes"]> {
  return (changes ?? []).slice(-MOST_LISTED);
}

/** What was done on the order since it was on the screen. */
function Since({ current, zone }: { current: Stale; zone: string }) {
  const left = (current.changes ?? []).length - MOST_LISTED;
  if (wasDone(current).length === 0) return null;
  return (
    <ul>
      {left > 0 && <li>{words.stale.sinceMore(left)}</li>}
      {wasDone(current).map((one) => (
        <li key={`${one.version} ${one.words}`}>{words.stale.sinceLine(one.words, one.by ?? words.stale.somebody, momentWords(one.at, zone, new Date()))}</li>
      ))}
    </ul>
  );
}

/** What was typed beside what stands there now. */
function Beside({ current, zone }: { current: Stale; zone: string }) {
  const differences = plainDifferences(current);
  if (differences.length === 0) return null;
  const by = current.changed_by;
  const who = by != null && by === signedIn.value?.person.name ? words.stale.otherWindow : (by ?? words.stale.somebody);
  const clock = clockWords(current.changed_at ?? new Date(), zone);
  return (
    <ul>
      {differences.map(({ field, yours, theirs }) => <li key={field}><b>{words.fields[field] ?? field}</b>: {words.stale.line(plainWords(yours), who, clock, plainWords(theirs))}</li>)}
    </ul>
  );
}

function ProblemWords({ refusal: { problem }, title, zone }: { refusal: Refusal & { kind: "problem" }; title?: string; zone: string }) {
  const errors = problem.errors ?? [];
  const bare = problem.title === "" && !problem.detail;
  return (
    <>
      <p>
        <b>{title ?? (bare ? words.refused.title : sentence(problem.title))}</b>{" "}
        {bare ? (problem.status === 403 ? words.refused.forbidden : words.refused.unknown) : inShopTime(problem.detail ?? "", zone, new Date())}
      </p>
      {errors.length > 0 && (
        <ul>
          {saidOnce(errors.map((one) => faultWords(one, words.fields))).map((one) => <li key={one}>{sentence(one)}</li>)}
        </ul>
      )}
      {problem.status >= 500 && problem.request_id && <small>{words.refused.request(problem.request_id)}</small>}
    </>
  );
}

function sentence(text: string): string {
  return /[.!?…]$/.test(text) ? text : `${text}.`;
}
