import { useEffect, useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, FamilyMap, MarkKind } from "../../api/shapes";
import { Drawing } from "../../elements/drawing";
import { keysOf } from "../../elements/form";
import { countMarks, toggleMark, type CheckInDraft } from "../../shop/check-in-draft";
import { bare } from "../../shop/drawing";
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
  const [chosen, setAt] = useState(0);
  const at = Math.min(chosen, Math.max(0, known.length - 1));
  const part = known[at];
  const field = useRef<HTMLUListElement>(null);
  const mark = (kind: MarkKind) => {
    if (part !== undefined) onDraft({ marks: toggleMark(draft.marks, part.name, kind) });
  };
  function onKey(event: KeyboardEvent) {
    const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
    if (step !== undefined && known.length > 0) {
      event.preventDefault();
      setAt((at + step + known.length) % known.length);
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
    const marks = draft.marks[one.name] ?? [];
    return (
      <li key={one.id} id={`${list}-${i}`} role="option" aria-selected={i === at} onClick={() => setAt(i)}>
        {one.label}
        {marks.length > 0 && <span class="vh">: {words.common.list(marks.map((kind) => words.marks[kind]))}</span>}
        {map === undefined && marks.map((kind) => <span key={kind} class="head-mark" aria-hidden="true">{words.markKeys[kind]}</span>)}
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
            marks={known.flatMap((one) => (draft.marks[one.name] === undefined ? [] : [{ id: one.id, letters: (draft.marks[one.name] ?? []).map((kind) => words.markKeys[kind]) }]))}
            onPart={(id) => {
              const next = known.findIndex((one) => one.id === id);
              if (next >= 0) setAt(next);
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
            <button key={kind} type="button" disabled={part === undefined} aria-pressed={part !== undefined && (draft.marks[part.name] ?? []).includes(kind)} onClick={() => mark(kind)}>
              {words.marks[kind]} <kbd>{words.markKeys[kind]}</kbd> {count > 0 && <b>{count}</b>}
            </button>
          );
        })}
        <span class="quiet" id={`${list}-help`}>{part === undefined ? words.checkIn.markHelp : words.checkIn.partHelp(part.label)}</span>
      </div>
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

type Letter = { x: number; y: number; letter: string };

/** The map with the letters of the marks on their parts; the words stand in the list that lies over it. */
function MarkedMap({ map, now, marks, onPart }: { map: FamilyMap; now: string | undefined; marks: { id: string; letters: string[] }[]; onPart: (id: string) => void }) {
  const place = useRef<HTMLDivElement>(null);
  const [letters, setLetters] = useState<Letter[]>([]);
  const wanted = JSON.stringify(marks);
  // Where a part lies is known once it is drawn.
  useLayoutEffect(() => {
    const svg = place.current?.querySelector("svg");
    setLetters(svg == null ? [] : marks.flatMap(({ id, letters: on }) => on.map((letter, i) => ({ ...spotOn(svg, id, (i + 1) / (on.length + 1)), letter }))));
  }, [map, wanted]);
  const box = map.drawing.attributes?.["viewBox"];
  return (
    <div class="drawn" ref={place} aria-hidden="true" onClick={(event) => {
      const id = event.target instanceof Element ? event.target.closest("[data-part]")?.getAttribute("data-part") : undefined;
      if (id != null) onPart(id);
    }}>
      <Drawing drawing={map.drawing} classOf={(attributes) => (now !== undefined && attributes["data-part"] === now ? "part-now" : undefined)} />
      {box !== undefined && (
        <svg class="pm letters" viewBox={box}>
          {letters.map((one, i) => (
            <g key={i} class="pin" transform={`translate(${one.x} ${one.y})`}>
              <circle class="hd" r="13" />
              <text y="5.5">{one.letter}</text>
            </g>
          ))}
        </svg>
      )}
    </div>
  );
}

/** A point on a part of the drawing, in its units: on the middle line where it has one, so far along it. */
function spotOn(svg: SVGSVGElement, part: string, share: number): { x: number; y: number } {
  const group = svg.querySelector(`[data-part="${CSS.escape(part)}"]`);
  const line = group?.querySelector(".cl") ?? group?.querySelector("path, polyline, polygon");
  const inverse = svg.getScreenCTM()?.inverse();
  if (line instanceof SVGGeometryElement && inverse !== undefined) {
    const matrix = line.getScreenCTM();
    const point = line.getPointAtLength(line.getTotalLength() * share);
    if (matrix !== null) {
      const { x, y } = point.matrixTransform(matrix).matrixTransform(inverse);
      return { x, y };
    }
  }
  const box = group instanceof SVGGraphicsElement ? group.getBBox() : { x: 0, y: 0, width: 0, height: 0 };
  return { x: box.x + box.width * share, y: box.y + box.height / 2 };
}
