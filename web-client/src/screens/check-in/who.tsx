import { useEffect, useId, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Customer, CustomerKind, MailWanted } from "../../api/shapes";
import { isOneOf, Options, SelectField, TextField } from "../../elements/form";
import { holds, type CheckInDraft } from "../../shop/check-in-draft";
import { words } from "../../words";

const REST_MS = 150;
const SHOWN = 6;

/** Who brings it: a search that also finds by any three digits of the telephone number. */
export function Who({ draft, onDraft, onChosen }: { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void; onChosen: (isNew: boolean) => void }) {
  const [found, setFound] = useState<Customer[]>([]);
  const [asked, setAsked] = useState("");
  const [at, setAt] = useState(0);
  const list = useId();
  const field = useRef<HTMLInputElement>(null);
  const chosen = draft.customer;

  useEffect(() => {
    const q = draft.typed.trim();
    if (typeof chosen === "object" && q === chosen.name) return;
    const ending = new AbortController();
    if (q.length < 2) {
      setFound([]);
      setAsked("");
      return;
    }
    const timer = setTimeout(() => {
      void calls.customers.search(q, SHOWN, ending.signal).then((answer) => {
        if (answer.kind !== "ok" || ending.signal.aborted) return;
        const { items } = answer.value;
        setFound(items);
        setAsked(q);
        // The search forgives typing errors; Enter must not take somebody who is only called alike.
        setAt(items[0] === undefined || holds(items[0], q) ? 0 : items.length);
      });
    }, REST_MS);
    return () => {
      clearTimeout(timer);
      ending.abort();
    };
  }, [draft.typed]);

  const options: (Customer | "new")[] = typeof chosen === "object" && draft.typed === chosen.name
    ? [chosen, ...found.filter((one) => one.id !== chosen.id), "new"]
    : [...found, ...(draft.typed.trim() === "" ? [] : (["new"] as const))];

  function choose(option: Customer | "new") {
    if (option === "new") {
      const typed = draft.typed.trim();
      const digits = /^[\d\s+()/-]+$/.test(typed);
      onDraft({
        customer: "new",
        instrument: "new",
        newCustomer: {
          ...draft.newCustomer,
          ...(digits ? { phone: draft.newCustomer.phone || typed } : typed.includes("@") ? { email: draft.newCustomer.email || typed } : { name: draft.newCustomer.name || typed }),
        },
      });
    } else {
      onDraft({ customer: option, typed: option.name, instrument: undefined });
    }
    onChosen(option === "new");
  }
  function onKey(event: KeyboardEvent) {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      setAt((at + (event.key === "ArrowDown" ? 1 : -1) + options.length) % Math.max(1, options.length));
    } else if (event.key === "Enter" && !event.shiftKey && !event.ctrlKey) {
      const option = options[at];
      // The answer for what is typed now has to be there: Enter must not choose from an older list.
      const current = asked === draft.typed.trim() || (typeof chosen === "object" && draft.typed === chosen.name);
      event.preventDefault();
      event.stopPropagation();
      if (option !== undefined && current) choose(option);
    }
  }

  return (
    <>
      <label class="vh" for={`${list}-field`}>{words.checkIn.who}</label>
      <input
        id={`${list}-field`}
        class="in search"
        ref={field}
        data-stop="1"
        role="combobox"
        aria-expanded={options.length > 0}
        aria-controls={list}
        {...(options.length > 0 ? { "aria-activedescendant": `${list}-${at}` } : {})}
        aria-autocomplete="list"
        autocomplete="off"
        placeholder={words.checkIn.whoShort}
        value={draft.typed}
        onInput={(event) => onDraft({ typed: event.currentTarget.value, ...(typeof chosen === "object" ? { customer: undefined, instrument: undefined } : {}) })}
        onKeyDown={onKey}
      />
      <ul class="opts" role="listbox" id={list} aria-label={words.checkIn.customers} hidden={options.length === 0}>
        {options.map((option, i) => {
          const isChosen = option === chosen || (typeof option === "object" && typeof chosen === "object" && option.id === chosen.id);
          return (
            <li
              key={option === "new" ? "new" : option.id}
              id={`${list}-${i}`}
              role="option"
              aria-selected={isChosen}
              class={`opt${isChosen ? " on" : ""}${i === at && !isChosen ? " at" : ""}`}
              onClick={() => choose(option)}
            >
              {option === "new" ? (
                <><span>{found.length === 0 && asked !== "" ? words.checkIn.newCustomerNamed(draft.typed) : words.checkIn.newCustomer}</span><kbd>N</kbd></>
              ) : (
                <>
                  <b>{option.name}</b>
                  <span>{option.phone ?? ""}</span>
                  <small>
                    {[
                      words.customerKinds[option.kind],
                      words.mailWanted[option.mail_wanted],
                      option.visits_count === 0 ? words.checkIn.firstVisit : words.checkIn.visits(option.visits_count),
                      ...(option.matched && option.matched !== "name" ? [words.checkIn.matched(words.fields[option.matched]?.toLowerCase() ?? option.matched)] : []),
                    ].join(" · ")}
                  </small>
                </>
              )}
            </li>
          );
        })}
      </ul>
      {chosen === "new" && <NewCustomerFields draft={draft} onDraft={onDraft} />}
    </>
  );
}

function NewCustomerFields({ draft, onDraft }: { draft: CheckInDraft; onDraft: (change: Partial<CheckInDraft>) => void }) {
  const { newCustomer } = draft;
  const set = (change: Partial<CheckInDraft["newCustomer"]>) => onDraft({ newCustomer: { ...newCustomer, ...change } });
  return (
    <div class="mini sheet" data-stop-in="1-new">
      <div class="wide"><TextField label={words.checkIn.name} value={newCustomer.name} onInput={(event) => set({ name: event.currentTarget.value })} /></div>
      <TextField label={words.checkIn.phone} type="tel" value={newCustomer.phone} onInput={(event) => set({ phone: event.currentTarget.value })} />
      <TextField label={words.checkIn.email} type="email" value={newCustomer.email} onInput={(event) => set({ email: event.currentTarget.value })} />
      <SelectField label={words.checkIn.kind} value={newCustomer.kind} onInput={(event) => {
        const { value } = event.currentTarget;
        if (isOneOf<CustomerKind>(words.customerKinds, value)) set({ kind: value });
      }}>
        <Options of={words.customerKinds} chosen={newCustomer.kind} />
      </SelectField>
      <SelectField label={words.checkIn.mail} value={newCustomer.mail_wanted} onInput={(event) => {
        const { value } = event.currentTarget;
        if (isOneOf<MailWanted>(words.mailWanted, value)) set({ mail_wanted: value });
      }}>
        <Options of={words.mailWanted} chosen={newCustomer.mail_wanted} />
      </SelectField>
      {newCustomer.kind === "school" && <p class="wide quiet">{words.checkIn.school}</p>}
    </div>
  );
}
