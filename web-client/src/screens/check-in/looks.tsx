import { useId, useState } from "preact/hooks";
import type { Family, MarkKind } from "../../api/shapes";
import { keysOf } from "../../elements/form";
import { countMarks, toggleMark, type CheckInDraft } from "../../shop/check-in-draft";
import { parts } from "../../store";
import { words } from "../../words";

const KINDS = keysOf<MarkKind>(words.marks);

/** How it looks at the counter: arrow keys walk from part to part, a letter sets a mark. */
export function Looks({ draft, onDraft, family }: { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void; family: Family | undefined }) {
  const list = useId();
  const known = family === undefined ? [] : (parts.value.get(family) ?? []);
  const [chosen, setAt] = useState(0);
  const at = Math.min(chosen, Math.max(0, known.length - 1));
  const part = known[at];
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
  return (
    <>
      <ul
        class="parts"
        role="listbox"
        tabIndex={0}
        data-stop="4"
        aria-label={words.checkIn.parts}
        aria-describedby={`${list}-help`}
        {...(part === undefined ? {} : { "aria-activedescendant": `${list}-${at}` })}
        onKeyDown={onKey}
      >
        {known.length === 0 && <li class="explain" role="option" aria-selected="false" aria-disabled="true">{words.checkIn.partsFirst}</li>}
        {known.map((one, i) => {
          const marks = draft.marks[one.name] ?? [];
          return (
            <li
              key={one.name}
              id={`${list}-${i}`}
              role="option"
              aria-selected={i === at}
              onClick={() => setAt(i)}
            >
              {one.label}
              {marks.length > 0 && <span class="vh">: {words.common.list(marks.map((kind) => words.marks[kind]))}</span>}
              {marks.map((kind) => <span key={kind} class="head-mark" aria-hidden="true">{words.markKeys[kind]}</span>)}
            </li>
          );
        })}
      </ul>
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
