import { useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { CallOutcome } from "../api/shapes";
import { ring } from "../words/en-ring";
import { Button } from "./button";
import { keysOf } from "./form";
import { RefusalNote } from "./refusal-note";
import { useAct } from "./use-act";

/** How a call went, one tap each, with a word on it where there is one. */
export function CallNote({ order, whom, onNoted }: { order: string; whom: { id: string; name: string }; onNoted: (said: string) => void }) {
  const act = useAct();
  const [note, setNote] = useState("");
  const keep = (outcome: CallOutcome) => act.run(
    (once) => calls.ring.note(order, { customer_id: whom.id, outcome, ...(note.trim() === "" ? {} : { words: note.trim() }) }, once),
    () => {
      setNote("");
      onNoted(ring.noted(whom.name, ring.outcomes[outcome]));
    },
  );
  return (
    <>
      <input class="in" aria-label={ring.noteLabel(whom.name)} placeholder={ring.note} value={note} onInput={(event) => setNote(event.currentTarget.value)} />
      <div class="row" role="group" aria-label={ring.how(whom.name)}>
        {keysOf(ring.outcomes).map((outcome) => (
          <Button key={outcome} type="button" class="btn" busy={act.busy} onClick={() => void keep(outcome)}>{ring.outcomes[outcome]}</Button>
        ))}
      </div>
      <RefusalNote refusal={act.refusal} />
    </>
  );
}
