import { useEffect, useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, FamilyMap, MarkKind } from "../../api/shapes";
import { Drawing } from "../../elements/drawing";
import { keysOf } from "../../elements/form";
import { pointOnSheet, spotOn } from "../../elements/part-map";
import { countMarks, isSameMark, toggleMark, type CheckInDraft, type CounterMark } from "../../shop/check-in-draft";
import { bare } from "../../shop/drawing";
import { millimetresAt, pointAt } from "../../shop/part-line";
import { parts } from "../../store";
import { words } from "../../words";

const KINDS = keysOf<MarkKind>(words.marks);

/** A part that can be marked: `name` goes onto the receipt, `id` finds it in the drawing. */
type Markable = { id: string; name: string; label: string };

/** How it looks at the counter: arrow keys walk from part to part, a letter sets a mark. */
export function Looks({ draft, onDraft, family }: { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void; family: Family | undefined }) {
  const list = useId();
  const map = useBareMap(family, typeof draft.instrument === "object" ? draft.instrument.id : undefined);
  const known: Markable[] = family === undefined ? []
    : map === undefined ? (parts.value.get(family) ?? []).map((one) => ({ id: one.name, name: one.name, label: one.label }))
    : map.map.parts.filter((one) => !one.struck_reason).map(({ id, name }) => ({ id, name, label: name }));
  // Nothing is chosen beforehand: a mark must not land on a part that nobody named.
  const [chosen, setChosen] = useState<string>();
  // Where on the part it was pointed at, in mm along it.
  const [spot, setSpot] = useState<number>();
  const [needsPart, setNeedsPart] = useState(false);
  const at = known.findIndex((one) => one.id === chosen);
  const part = known[at];
  const field = useRef<HTMLUListElement>(null);
  const choose = (next: Markable | undefined, place?: number) => {
    setChosen(next?.id);
    setSpot(place);
    setNeedsPart(false);
  };
  const here = (kind: MarkKind): CounterMark => ({ part: part?.name ?? "", kind, ...(spot === undefined ? {} : { position_mm: spot }) });
  const mark = (kind: MarkKind) => {
    setNeedsPart(part === undefined);
    if (part !== undefined) onDraft({ marks: toggleMark(draft.marks, here(kind)) });
  };
  function onKey(event: KeyboardEvent) {
    const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
    if (step !== undefined && known.length > 0) {
      event.preventDefault();
      choose(known[part === undefined ? (step > 0 ? 0 : known.length - 1) : (at + step + known.length) % known.length]);
      return;
    }
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const kind = KINDS.find((one) => words.markKeys[one] === event.key.toUpperCase());
    if (kind !== undefined) {
      // Otherwise C would open the check-in, as it does everywhere else.
      event.preventDefault();
      event.stopPropagation();
      mark(kind);
    }
  }
  const options = known.map((one, i) => {
    const marks = draft.marks.filter((mark) => mark.part === one.name);
    return (
      <li key={one.id} id={`${list}-${i}`} role="option" aria-selected={i === at} onClick={() => choose(one)}>
        {one.label}
        {marks.length > 0 && <span class="vh">: {words.common.list(marks.map(({ kind, position_mm }) => (position_mm === undefined ? words.marks[kind] : words.checkIn.markAt(words.marks[kind], String(position_mm)))))}</span>}
        {map === undefined && marks.map(({ kind }, at) => <span key={at} class="head-mark" aria-hidden="true">{words.markKeys[kind]}</span>)}
      </li>
    );
  });
  const asList = {
    role: "listbox" as const,
    tabIndex: 0,
    "data-stop": "4",
    "aria-label": words.checkIn.parts,
    "aria-describedby": `${list}-help`,
    ...(part === undefined ? {} : { "aria-activedescendant": `${list}-${at}` }),
    onKeyDown: onKey,
  };
  return (
    <>
      {map === undefined ? (
        <ul class="parts" {...asList}>
          {known.length === 0 && <li class="explain" role="option" aria-selected="false" aria-disabled="true">{words.checkIn.partsFirst}</li>}
          {options}
        </ul>
      ) : (
        <div class="map looks-map">
          <MarkedMap
            map={map}
            now={part?.id}
            spot={spot}
            marks={draft.marks}
            onPlace={(id, place) => {
              choose(known.find((one) => one.id === id), place);
              field.current?.focus();
            }}
          />
          <ul class="over-map" ref={field} {...asList}>{options}</ul>
        </div>
      )}
      <div class="marks" role="toolbar" aria-label={words.checkIn.marks}>
        {KINDS.map((kind) => {
          const count = countMarks(draft.marks, kind);
          return (
            <button key={kind} type="button" disabled={known.length === 0} aria-pressed={part !== undefined && draft.marks.some((one) => isSameMark(one, here(kind)))} onClick={() => mark(kind)}>
              {words.marks[kind]} <kbd>{words.markKeys[kind]}</kbd> {count > 0 && <b>{count}</b>}
            </button>
          );
        })}
        <span class="quiet" id={`${list}-help`}>{part === undefined ? words.checkIn.markHelp : spot === undefined ? words.checkIn.partHelp(part.label) : words.checkIn.spotHelp(part.label, String(spot))}</span>
      </div>
      {needsPart && <p class="fault" role="alert">{words.checkIn.markNeedsPart}</p>}
    </>
  );
}

/** The instrument's own map without anything found on it; a new instrument has that of its family. */
function useBareMap(family: Family | undefined, instrument: string | undefined): FamilyMap | undefined {
  const [found, setFound] = useState<{ of: string; map: FamilyMap }>();
  const of = instrument ?? family;
  useEffect(() => {
    if (of === undefined || family === undefined) return;
    let gone = false;
    void (instrument === undefined ? calls.familyMap(family) : calls.instruments.map(instrument)).then((answer) => {
      if (!gone && answer.kind === "ok") setFound({ of, map: { map: answer.value.map, drawing: bare(answer.value.drawing) } });
    });
    return () => {
      gone = true;
    };
  }, [of]);
  return found?.of === of ? found?.map : undefined;
}

type Letter = { x: number; y: number; letter: string; part: string; place: number | undefined };

/** The map with the letters of the marks in their places; the words stand in the list that lies over it. */
function MarkedMap({ map, now, spot, marks, onPlace }: {
  map: FamilyMap;
  now: string | undefined;
  spot: number | undefined;
  marks: readonly CounterMark[];
  /** A part was pointed at, and how many mm along it where that is known. */
  onPlace: (part: string, place: number | undefined) => void;
}) {
  const place = useRef<HTMLDivElement>(null);
  const [letters, setLetters] = useState<Letter[]>([]);
  const there = map.map.parts.filter((one) => !one.struck_reason);
  const wanted = JSON.stringify(marks);
  // Where a part without a line of its own lies is known once it is drawn.
  useLayoutEffect(() => {
    const svg = place.current?.querySelector("svg");
    setLetters(svg == null ? [] : there.flatMap((part) => {
      const on = marks.filter((mark) => mark.part === part.name);
      const loose = on.filter((mark) => mark.position_mm === undefined);
      return on.map((mark) => {
        const at = mark.position_mm === undefined ? undefined : pointAt(part, mark.position_mm);
        return { ...(at ?? spotOn(svg, part.id, (loose.indexOf(mark) + 1) / (loose.length + 1))), letter: words.markKeys[mark.kind], part: part.id, place: mark.position_mm };
      });
    }));
  }, [map, wanted]);
  const box = map.drawing.attributes?.["viewBox"];
  const chosen = there.find((one) => one.id === now);
  const ring = chosen === undefined || spot === undefined || letters.some((one) => one.part === now && one.place === spot) ? undefined : pointAt(chosen, spot);
  return (
    <div class="drawn" ref={place} aria-hidden="true" onClick={(event) => {
      const target = event.target instanceof Element ? event.target : undefined;
      const letter = letters[Number(target?.closest("[data-letter]")?.getAttribute("data-letter") ?? Number.NaN)];
      if (letter !== undefined) return onPlace(letter.part, letter.place);
      const part = there.find((one) => one.id === target?.closest("[data-part]")?.getAttribute("data-part"));
      if (part === undefined) return;
      const point = pointOnSheet(place.current?.querySelector("svg"), event);
      onPlace(part.id, point === undefined ? undefined : millimetresAt(part, point));
    }}>
      <Drawing drawing={map.drawing} classOf={(attributes) => (now !== undefined && attributes["data-part"] === now ? "part-now" : undefined)} />
      {box !== undefined && (
        <svg class="pm letters" viewBox={box}>
          {ring !== undefined && <g class="pin"><circle class="spot" cx={ring.x} cy={ring.y} r="6" /></g>}
          {letters.map((one, i) => (
            <g key={i} class={one.part === now && one.place === spot ? "pin now" : "pin"} data-letter={i} transform={`translate(${one.x} ${one.y})`}>
              <circle class="hd" r="13" />
              <text y="5.5">{one.letter}</text>
            </g>
          ))}
        </svg>
      )}
    </div>
  );
}
