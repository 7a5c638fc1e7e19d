import { useEffect, useId, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Customer, CustomerKind, MailWanted } from "../../api/shapes";
import { isOneOf, Options, SelectField, TextField } from "../../elements/form";
import { holds, isPhone, isReachable, withoutOwner, type CheckInDraft, type NewPersonDraft } from "../../shop/check-in-draft";
import { words } from "../../words";

const REST_MS = 150;
const SHOWN = 6;

type Props = {
  draft: CheckInDraft;
  onDraft: (change: Partial<CheckInDraft>) => void;
  /** What is wrong with somebody new, by the field. */
  faults: { customer: PersonFaults; owner: PersonFaults };
};
export type PersonFaults = { name?: string | undefined; phone?: string | undefined; email?: string | undefined };

/** Who brings it, and who owns it where that is somebody else: out of the way until it is asked for. */
export function Who({ draft, onDraft, faults, onChosen, onOwner }: Props & { onChosen: (isNew: boolean, of: "customer" | "owner") => void; onOwner: () => void }) {
  return (
    <>
      <Search
        label={words.checkIn.who}
        stop="1"
        typed={draft.typed}
        chosen={draft.customer}
        fresh={draft.newCustomer}
        onTyped={(typed, gone) => onDraft({ typed, ...(gone ? { customer: undefined, instrument: undefined } : {}) })}
        onChoose={(customer, fresh) => {
          onDraft(customer === "new" ? { customer, instrument: "new", newCustomer: fresh } : { customer, typed: customer.name, instrument: undefined });
          onChosen(customer === "new", "customer");
        }}
      />
      {draft.customer === "new" && <NewPersonFields stop="1-new" person={draft.newCustomer} faults={faults.customer} onPerson={(newCustomer) => onDraft({ newCustomer })} />}
      {typeof draft.customer === "object" && !isReachable(draft.customer) && <p class="heed" role="status">{words.checkIn.noReach}</p>}
      {!draft.ownerApart ? (
        draft.customer !== undefined && <button type="button" class="link owner-line" onClick={onOwner}>{words.checkIn.ownerApart} <kbd>O</kbd></button>
      ) : (
        <div class="owner" role="group" aria-label={words.checkIn.owner}>
          <p class="owner-line"><b>{words.checkIn.owner}</b> <button type="button" class="link" onClick={() => onDraft({ ...withoutOwner(), instrument: undefined })}>{words.checkIn.ownerSame}</button></p>
          <Search
            label={words.checkIn.ownerWho}
            stop="1-owner"
            typed={draft.ownerTyped}
            chosen={draft.owner}
            fresh={draft.newOwner}
            onTyped={(ownerTyped, gone) => onDraft({ ownerTyped, ...(gone ? { owner: undefined, instrument: undefined } : {}) })}
            onChoose={(owner, fresh) => {
              onDraft(owner === "new" ? { owner, newOwner: fresh } : { owner, ownerTyped: owner.name, instrument: undefined });
              onChosen(owner === "new", "owner");
            }}
          />
          {draft.owner === "new" && <NewPersonFields stop="1-owner-new" person={draft.newOwner} faults={faults.owner} onPerson={(newOwner) => onDraft({ newOwner })} />}
        </div>
      )}
    </>
  );
}

/** A search that also finds by any three digits of the telephone number, and takes somebody new. */
function Search({ label, stop, typed: typedHere, chosen, fresh, onTyped, onChoose }: {
  label: string;
  stop: string;
  typed: string;
  chosen: Customer | "new" | undefined;
  /** Somebody new as far as typed; what the search was given fills what is empty of it. */
  fresh: NewPersonDraft;
  /** `gone` when what is typed no longer names the one who was chosen. */
  onTyped: (typed: string, gone: boolean) => void;
  onChoose: (option: Customer | "new", fresh: NewPersonDraft) => void;
}) {
  const [found, setFound] = useState<Customer[]>([]);
  const [asked, setAsked] = useState("");
  const [at, setAt] = useState(0);
  const list = useId();
  const field = useRef<HTMLInputElement>(null);

  useEffect(() => {
    const q = typedHere.trim();
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
  }, [typedHere]);

  const options: (Customer | "new")[] = typeof chosen === "object" && typedHere === chosen.name
    ? [chosen, ...found.filter((one) => one.id !== chosen.id), "new"]
    : [...found, ...(typedHere.trim() === "" ? [] : (["new"] as const))];

  function choose(option: Customer | "new") {
    const typed = typedHere.trim();
    const digits = /^[\d\s+()/-]+$/.test(typed);
    onChoose(option, {
      ...fresh,
      ...(digits ? { phone: fresh.phone || typed } : typed.includes("@") ? { email: fresh.email || typed } : { name: fresh.name || typed }),
    });
  }
  function onKey(event: KeyboardEvent) {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      setAt((at + (event.key === "ArrowDown" ? 1 : -1) + options.length) % Math.max(1, options.length));
    } else if (event.key === "Enter" && !event.shiftKey && !event.ctrlKey) {
      const option = options[at];
      // The answer for what is typed now has to be there: Enter must not choose from an older list.
      const current = asked === typedHere.trim() || (typeof chosen === "object" && typedHere === chosen.name);
      event.preventDefault();
      event.stopPropagation();
      if (option !== undefined && current) choose(option);
    }
  }

  return (
    <>
      <label class="vh" for={`${list}-field`}>{label}</label>
      <input
        id={`${list}-field`}
        class="in search"
        ref={field}
        data-stop={stop}
        role="combobox"
        aria-expanded={options.length > 0}
        aria-controls={list}
        {...(options.length > 0 ? { "aria-activedescendant": `${list}-${at}` } : {})}
        aria-autocomplete="list"
        autocomplete="off"
        placeholder={words.checkIn.whoShort}
        value={typedHere}
        onInput={(event) => onTyped(event.currentTarget.value, typeof chosen === "object")}
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
                <><span>{found.length === 0 && asked !== "" ? words.checkIn.newCustomerNamed(typedHere) : words.checkIn.newCustomer}</span><kbd>N</kbd></>
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
    </>
  );
}

function NewPersonFields({ stop, person, faults, onPerson }: { stop: string; person: NewPersonDraft; faults: PersonFaults; onPerson: (person: NewPersonDraft) => void }) {
  const set = (change: Partial<NewPersonDraft>) => onPerson({ ...person, ...change });
  return (
    <div class="mini sheet" data-stop-in={stop}>
      <div class="wide"><TextField label={words.checkIn.name} value={person.name} fault={faults.name} onInput={(event) => set({ name: event.currentTarget.value })} /></div>
      <TextField label={words.checkIn.phone} type="tel" value={person.phone} fault={isPhone(person.phone) ? faults.phone : words.checkIn.noPhone} onInput={(event) => set({ phone: event.currentTarget.value })} />
      <TextField label={words.checkIn.email} type="email" value={person.email} fault={faults.email} onInput={(event) => set({ email: event.currentTarget.value })} />
      <SelectField label={words.checkIn.kind} value={person.kind} onInput={(event) => {
        const { value } = event.currentTarget;
        if (isOneOf<CustomerKind>(words.customerKinds, value)) set({ kind: value });
      }}>
        <Options of={words.customerKinds} chosen={person.kind} />
      </SelectField>
      <SelectField label={words.checkIn.mail} value={person.mail_wanted} onInput={(event) => {
        const { value } = event.currentTarget;
        if (isOneOf<MailWanted>(words.mailWanted, value)) set({ mail_wanted: value });
      }}>
        <Options of={words.mailWanted} chosen={person.mail_wanted} />
      </SelectField>
      {person.name.trim() !== "" && !isReachable(person) && <p class="wide heed" role="status">{words.checkIn.noReach}</p>}
      {person.kind === "school" && <p class="wide quiet">{words.checkIn.school}</p>}
    </div>
  );
}
