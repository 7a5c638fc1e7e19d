import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, Instrument, InstrumentHistory } from "../../api/shapes";
import { isOneOf, Options, SelectField, TextField } from "../../elements/form";
import type { CheckInDraft } from "../../shop/check-in-draft";
import { monthWords } from "../../shop/dates";
import { instrumentWords } from "../../shop/instrument";
import { words } from "../../words";

type Props = { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void };

/** Which of the owner's or this customer's instruments it is, or a new one. */
export function What({ draft, onDraft, onReady }: Props & { onReady: () => void }) {
  const [found, setFound] = useState<{ of: string; items: Instrument[] }>({ of: "", items: [] });
  const customer = typeof draft.customer === "object" ? draft.customer.id : undefined;
  const apart = draft.ownerApart && typeof draft.owner === "object" ? draft.owner.id : undefined;
  // The owner's come first; what somebody brings for another may stand under their own name still.
  const owners = [...new Set([apart, customer])].filter((one) => one !== undefined);
  const whose = owners.join(" ");
  useEffect(() => {
    let gone = false;
    void Promise.all(owners.map((one) => calls.instruments.of(one))).then((answers) => {
      if (gone || answers.some((answer) => answer.kind !== "ok")) return;
      const items = answers.flatMap((answer) => (answer.kind === "ok" ? answer.value.items : []));
      setFound({ of: whose, items });
      if (owners.length > 0 && items.length === 0) onDraft({ instrument: "new" });
    });
    return () => {
      gone = true;
    };
  }, [whose]);
  const known = found.of === whose ? found.items : [];
  const chosen = draft.instrument;
  const ready = found.of === whose && (known.length > 0 || chosen === "new");
  useEffect(() => {
    if (ready) onReady();
  }, [ready, whose]);
  return (
    <>
      {known.length > 0 && (
        <fieldset class="opts" aria-label={words.checkIn.instruments}>
          {known.map((one, i) => (
            <label key={one.id} class={typeof chosen === "object" && chosen.id === one.id ? "opt on" : "opt"}>
              <input type="radio" name="instrument" checked={typeof chosen === "object" && chosen.id === one.id} {...(i === 0 ? { "data-stop": "2" } : {})} onChange={() => onDraft({ instrument: one })} />
              <b>{instrumentWords({ ...one, age_text: null }, words.families)}</b>
              <span>{one.serial_number ? words.common.number(one.serial_number) : ""}</span>
              <small>{[owners.length > 1 ? one.owner.name : null, one.age_text, one.finish, one.owners_number, one.last_here_on ? words.checkIn.lastHere(monthWords(one.last_here_on)) : null].filter(Boolean).join(" · ")}</small>
            </label>
          ))}
          <label class={chosen === "new" ? "opt on" : "opt"}>
            <input type="radio" name="instrument" checked={chosen === "new"} onChange={() => onDraft({ instrument: "new" })} />
            <span>{words.checkIn.another}</span>
            <kbd>N</kbd>
          </label>
        </fieldset>
      )}
      {(chosen === "new" || (known.length === 0 && draft.customer !== undefined)) && <NewInstrumentFields draft={draft} onDraft={onDraft} first={known.length === 0} />}
    </>
  );
}

function NewInstrumentFields({ draft, onDraft, first }: Props & { first: boolean }) {
  const { newInstrument } = draft;
  const set = (change: Partial<CheckInDraft["newInstrument"]>) => onDraft({ instrument: "new", newInstrument: { ...newInstrument, ...change } });
  return (
    <div class="mini sheet" {...(first ? { "data-stop-in": "2" } : {})}>
      <div class="wide">
        <SelectField label={words.checkIn.family} value={newInstrument.family} onInput={(event) => {
          const { value } = event.currentTarget;
          set({ family: isOneOf<Family>(words.families, value) ? value : "" });
          onDraft({ marks: [] });
        }}>
          <option value="" />
          <Options of={words.families} chosen={newInstrument.family} />
        </SelectField>
      </div>
      {(["maker", "model", "serial", "age", "finish", "ownersNumber"] as const).map((name) => {
        const field = ({ maker: "maker", model: "model", serial: "serial_number", age: "age_text", finish: "finish", ownersNumber: "owners_number" } as const)[name];
        return (
          <TextField
            key={name}
            label={words.checkIn[name]}
            value={newInstrument[field]}
            {...(name === "age" ? { placeholder: words.checkIn.agePlaceholder } : {})}
            onInput={(event) => set({ [field]: event.currentTarget.value })}
          />
        );
      })}
    </div>
  );
}

/** Watch items first, then past visits: what to look at while the customer is still there. */
export function LookNow({ draft }: { draft: CheckInDraft }) {
  const [history, setHistory] = useState<InstrumentHistory>();
  const id = typeof draft.instrument === "object" ? draft.instrument.id : undefined;
  useEffect(() => {
    setHistory(undefined);
    if (id === undefined) return;
    let gone = false;
    void calls.instruments.history(id).then((answer) => {
      if (!gone && answer.kind === "ok") setHistory(answer.value);
    });
    return () => {
      gone = true;
    };
  }, [id]);
  return (
    <>
      <h3>{words.checkIn.look}</h3>
      {id === undefined && draft.instrument !== "new" && <p class="quiet">{words.checkIn.lookFirst}</p>}
      {((history !== undefined && history.watch.length === 0) || draft.instrument === "new") && <p class="quiet">{words.checkIn.lookNothing}</p>}
      {history?.watch.map((item) => <p key={item.words + item.found_on} class="heed"><b>{item.words}</b> {item.note ?? ""}</p>)}
      {history !== undefined && history.visits.length > 0 && (
        <ul class="visits">
          {history.visits.map((visit) => (
            <li key={visit.work_order_id}>{monthWords(visit.checked_in_on)} · {visit.words.length > 0 ? words.common.list(visit.words) : visit.complaint}</li>
          ))}
        </ul>
      )}
    </>
  );
}
