import { useEffect, useId, useState } from "preact/hooks";
import type { ComponentChildren, Ref } from "preact";
import type { Money } from "../api/shapes";
import { readAmount } from "../shop/money";
import { dayWords } from "../shop/dates";
import { shopHere } from "../store";
import { words } from "../words";

/** What stands in a field of a form, without spaces around it. */
export function textIn(form: HTMLFormElement, name: string): string {
  const value = new FormData(form).get(name);
  return typeof value === "string" ? value.trim() : "";
}

/** Everything ticked under one name. */
export function ticksIn(form: HTMLFormElement, name: string): string[] {
  return new FormData(form).getAll(name).filter((value) => typeof value === "string");
}

/** An amount of a field in the shop's currency: `null` when it is empty, `undefined` when it is none. */
export function amountIn(form: HTMLFormElement, name: string): Money | null | undefined {
  const text = textIn(form, name);
  return text === "" ? null : amountOf(text);
}

/** An amount as typed, in the shop's currency. */
export function amountOf(typed: string): Money | undefined {
  const { currency } = shopHere();
  const amount = readAmount(typed, currency);
  return amount === undefined ? undefined : { amount, currency };
}

/** Whether a text is one of the words of a list. */
export function isOneOf<T extends string>(of: Record<T, string>, text: string): text is T {
  return Object.hasOwn(of, text);
}

/** The keys of a list of words, in its order. */
export function keysOf<T extends string>(of: Record<T, string>): T[] {
  return Object.keys(of).filter((key): key is T => isOneOf(of, key));
}

type FieldProps = { label: string; help?: string | undefined; fault?: string | undefined; hideLabel?: boolean };

function Around({ label, help, fault, hideLabel, id, children }: FieldProps & { id: string; children: ComponentChildren }) {
  return (
    <div class="field">
      {hideLabel ? <label class="vh" for={id}>{label}</label> : <span><label for={id}>{label}</label></span>}
      {children}
      {help !== undefined && <small id={`${id}-help`}>{help}</small>}
      {fault !== undefined && <p class="fault" id={`${id}-fault`}>{fault}</p>}
    </div>
  );
}

function told(id: string, { help, fault }: FieldProps): { "aria-describedby"?: string; "aria-invalid"?: "true" } {
  const by = [...(help === undefined ? [] : [`${id}-help`]), ...(fault === undefined ? [] : [`${id}-fault`])].join(" ");
  return { ...(by === "" ? {} : { "aria-describedby": by }), ...(fault === undefined ? {} : { "aria-invalid": "true" as const }) };
}

type Validated = HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement;

/**
 * What is wrong with a field as it stands: what the screen says, else what the browser noticed, in
 * our words. Either goes with the next change of the field and comes again with the next press.
 */
function useFault<E extends Validated>(id: string, told: string | undefined): { fault: string | undefined; onInvalid: (event: Event & { currentTarget: E }) => void; onMend: (field: E) => void } {
  const [own, setOwn] = useState<string>();
  const [mended, setMended] = useState(false);
  useEffect(() => setMended(false), [told]);
  useEffect(() => {
    const field = document.getElementById(id);
    const form = field instanceof HTMLElement ? field.closest("form") : null;
    if (form === null) return;
    const press = (event: Event) => {
      if (event.type === "submit" || (event.target instanceof Element && event.target.closest("button") !== null)) setMended(false);
    };
    form.addEventListener("submit", press);
    form.addEventListener("click", press);
    return () => {
      form.removeEventListener("submit", press);
      form.removeEventListener("click", press);
    };
  }, [id]);
  return {
    fault: own ?? (mended ? undefined : told),
    onInvalid: (event) => {
      event.preventDefault();
      const field = event.currentTarget;
      setOwn(ownWords(field));
      if (field.form?.querySelector(":is(input, select, textarea):invalid") === field) field.focus();
    },
    onMend: (field) => {
      setOwn(undefined);
      // Without a form there is no press to come: such a screen says by itself what is still wrong.
      setMended(field.form !== null);
    },
  };
}

/** What the browser noticed, in our words. */
function ownWords(field: Validated): string {
  const { validity } = field;
  if (validity.valueMissing) return words.common.fillIn;
  if (validity.typeMismatch && field.type === "email") return words.common.noEmail;
  if (validity.rangeUnderflow && field instanceof HTMLInputElement && field.type === "date") return words.common.dayFrom(dayWords(field.min));
  return field.type === "date" ? words.common.noDay : words.common.notReadable;
}

/** What fields of all kinds take from the screen that uses them. */
type Common<E extends HTMLElement> = {
  name?: string;
  value?: string;
  defaultValue?: string;
  required?: boolean;
  disabled?: boolean;
  placeholder?: string;
  fieldRef?: Ref<E>;
  onInput?: (event: { currentTarget: E }) => void;
  onKeyDown?: (event: KeyboardEvent & { currentTarget: E }) => void;
};

/** A field of one line with its label, its help and what is wrong with it. */
export function TextField({ label, help, fault: toldFault, hideLabel, class: extra, type = "text", autocomplete = "off", fieldRef, onInput, ...rest }: FieldProps & Common<HTMLInputElement> & {
  type?: "text" | "email" | "tel" | "date" | "password";
  inputMode?: "numeric" | "decimal";
  autocomplete?: string;
  min?: string;
  pattern?: string;
  class?: string;
}) {
  const id = useId();
  const { fault, onInvalid, onMend } = useFault<HTMLInputElement>(id, toldFault);
  const about = { label, help, fault, ...(hideLabel === undefined ? {} : { hideLabel }) };
  const all = {
    id,
    onInvalid,
    onInput: (event: { currentTarget: HTMLInputElement }) => {
      onMend(event.currentTarget);
      onInput?.(event);
    },
    class: extra === undefined ? "in" : `in ${extra}`,
    autocomplete,
    ...(fieldRef === undefined ? {} : { ref: fieldRef }),
    ...told(id, about),
    ...rest,
  };
  return (
    <Around {...about} id={id}>
      {/* The types of the markup tell the kinds of input apart, so each kind stands by itself. */}
      {type === "text" ? <input type="text" {...all} />
        : type === "email" ? <input type="email" {...all} />
        : type === "tel" ? <input type="tel" {...all} />
        : type === "date" ? <input type="date" {...all} />
        : <input type="password" {...all} />}
    </Around>
  );
}

/** A password: pasted or typed, and shown to whoever asks to see it. */
export function PasswordField({ label, help, fault: toldFault, fieldRef, name, autocomplete, onInput }: FieldProps & Pick<Common<HTMLInputElement>, "name" | "fieldRef" | "onInput"> & {
  autocomplete: "current-password" | "new-password";
}) {
  const id = useId();
  const [shown, setShown] = useState(false);
  const { fault, onInvalid, onMend } = useFault<HTMLInputElement>(id, toldFault);
  const about = { label, help, fault };
  const all = {
    id,
    class: "in",
    autocomplete,
    autocapitalize: "none" as const,
    spellcheck: false,
    required: true,
    onInvalid,
    onInput: (event: { currentTarget: HTMLInputElement }) => {
      onMend(event.currentTarget);
      onInput?.(event);
    },
    ...(name === undefined ? {} : { name }),
    ...(fieldRef === undefined ? {} : { ref: fieldRef }),
    ...told(id, about),
  };
  return (
    <Around {...about} id={id}>
      <div class="password">
        {shown ? <input type="text" {...all} /> : <input type="password" {...all} />}
        <button type="button" class="link" aria-pressed={shown} aria-controls={id} onClick={() => setShown(!shown)}>{shown ? words.common.hidePassword : words.common.showPassword}</button>
      </div>
    </Around>
  );
}

export function AreaField({ label, help, fault: toldFault, hideLabel, fieldRef, rows = 2, onInput, ...rest }: FieldProps & Common<HTMLTextAreaElement> & { rows?: number }) {
  const id = useId();
  const { fault, onInvalid, onMend } = useFault<HTMLTextAreaElement>(id, toldFault);
  const about = { label, help, fault, ...(hideLabel === undefined ? {} : { hideLabel }) };
  const input = (event: { currentTarget: HTMLTextAreaElement }) => {
    onMend(event.currentTarget);
    onInput?.(event);
  };
  return (
    <Around {...about} id={id}>
      <textarea id={id} class="in" rows={rows} onInvalid={onInvalid} onInput={input} {...(fieldRef === undefined ? {} : { ref: fieldRef })} {...told(id, about)} {...rest} />
    </Around>
  );
}

export function SelectField({ label, help, fault, hideLabel, fieldRef, children, name, value, required, onInput }: FieldProps & Common<HTMLSelectElement> & { children: ComponentChildren }) {
  const id = useId();
  const about = { label, help, fault, ...(hideLabel === undefined ? {} : { hideLabel }) };
  return (
    <Around {...about} id={id}>
      <select
        id={id}
        class="in"
        {...(name === undefined ? {} : { name })}
        {...(value === undefined ? {} : { value })}
        {...(required === undefined ? {} : { required })}
        {...(onInput === undefined ? {} : { onInput })}
        {...(fieldRef === undefined ? {} : { ref: fieldRef })}
        {...told(id, about)}
      >
        {children}
      </select>
    </Around>
  );
}

/** The words of a list as options. */
export function Options({ of, chosen }: { of: Record<string, string>; chosen?: string | undefined }) {
  return <>{Object.entries(of).map(([value, label]) => <option key={value} value={value} selected={value === chosen}>{label}</option>)}</>;
}

export function Tick({ label, ...rest }: {
  label: ComponentChildren;
  name?: string;
  value?: string;
  checked?: boolean;
  defaultChecked?: boolean;
  onInput?: (event: { currentTarget: HTMLInputElement }) => void;
}) {
  return <label class="check"><input type="checkbox" {...rest} /> <span>{label}</span></label>;
}
