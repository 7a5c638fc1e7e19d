import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "./button";
import type { Stale } from "../api/shapes";
import { momentWords } from "../shop/dates";
import { personHere, shopHere } from "../store";
import { words } from "../words";

/**
 * What to do when somebody changed the thing meanwhile: one line per difference, a choice for each,
 * done. Nothing typed is lost. `onChosen` is told which fields shall stand as the person wrote them.
 */
export function StalePanel({ stale, what, show, name = (field) => words.fields[field] ?? field, taken = [], busy, onChosen }: {
  stale: Stale;
  /** What was changed, such as "finding 7". */
  what: string;
  /** A value of a field in words. */
  show: (field: string, value: unknown) => string;
  /** A field in words. */
  name?: (field: string) => string;
  /** What only the other one changed and stands already, in words. */
  taken?: readonly string[];
  busy: boolean;
  onChosen: (mine: ReadonlySet<string>) => void;
}) {
  const differences = stale.differences ?? [];
  const [mine, setMine] = useState<ReadonlySet<string>>(() => new Set(differences.map((one) => one.field)));
  const [full, setFull] = useState(false);
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus(), [stale]);
  const who = stale.changed_by ?? words.stale.somebody;
  const isMe = who === personHere().name;
  const first = isMe ? words.stale.otherWindow : (who.split(" ")[0] ?? who);
  const at = momentWords(stale.changed_at ?? new Date().toISOString(), shopHere().time_zone, new Date());
  const choose = (field: string, yours: boolean) => {
    const next = new Set(mine);
    if (yours) next.add(field);
    else next.delete(field);
    setMine(next);
  };
  return (
    <section class="stale" role="alertdialog" aria-labelledby="stale-title">
      <h1 id="stale-title" tabIndex={-1} ref={title}>{isMe ? words.stale.titleYou(what) : words.stale.title(first, what)}</h1>
      <p class="lead quiet">{differences.length === 0 ? (taken.length > 0 ? words.stale.laid(at) : words.stale.plain(at)) : words.stale.lead(at, differences.length)}</p>
      <ul class="diff">
        {differences.map(({ field, yours, theirs }) => {
          const [your, their] = [show(field, yours), show(field, theirs)];
          return (
            <li key={field}>
              <b>{name(field)}</b>
              <span>{words.stale.line(your, first, at, their)}</span>
              <button type="button" class="btn" aria-pressed={mine.has(field)} onClick={() => choose(field, true)}>
                {your.length > 24 ? words.stale.keepYours : your}
              </button>
              <button type="button" class="btn" aria-pressed={!mine.has(field)} onClick={() => choose(field, false)}>
                {their.length > 40 ? `${their.slice(0, 38)}…` : their}
              </button>
            </li>
          );
        })}
      </ul>
      {taken.length > 0 && (
        <>
          <p>{words.stale.taken}</p>
          <ul>{taken.map((one) => <li key={one}>{one}</li>)}</ul>
        </>
      )}
      {full && (
        <pre class="address">{JSON.stringify(stale.current, null, 2)}</pre>
      )}
      <div class="foot">
        {differences.length > 0 && !full && stale.current !== undefined && (
          <button type="button" class="link" onClick={() => setFull(true)}>{words.stale.both}</button>
        )}
        <Button type="button" class="btn bench main" busy={busy} onClick={() => onChosen(mine)}>
          {differences.length === 0 ? words.stale.seen : words.stale.done}
        </Button>
      </div>
    </section>
  );
}

/** A value in words where nothing better is known. */
export function plainWords(value: unknown): string {
  if (value === null || value === undefined || value === "") return words.common.none;
  if (typeof value === "boolean") return value ? words.common.yes : words.common.no;
  if (typeof value === "object") return JSON.stringify(value);
  return String(value);
}
