import { useEffect, useRef } from "preact/hooks";
import { clockWords, inShopTime } from "../shop/dates";
import { faultWords } from "../shop/pointer-words";
import { signedIn } from "../store";
import { words } from "../words";
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
            {words.stale.plain(clockWords(refusal.current.changed_at ?? new Date(), zone))}
          </p>
          {onReload !== undefined && <button type="button" class="link" onClick={onReload}>{words.refused.reload}</button>}
        </>
      ) : (
        <ProblemWords refusal={refusal} zone={zone} {...(title === undefined ? {} : { title })} />
      )}
    </div>
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
          {errors.map((one) => (
            <li key={one.pointer + one.message}>{sentence(faultWords(one, words.fields))}</li>
          ))}
        </ul>
      )}
      {problem.status >= 500 && problem.request_id && <small>{words.refused.request(problem.request_id)}</small>}
    </>
  );
}

function sentence(text: string): string {
  return /[.!?…]$/.test(text) ? text : `${text}.`;
}
