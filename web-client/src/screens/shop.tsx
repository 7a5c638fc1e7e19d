import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { door, session } from "../api/line";
import type { Person, Role, SessionLine } from "../api/shapes";
import { Button } from "../elements/button";
import { isOneOf, keysOf, PasswordField, TextField, textIn, Tick, ticksIn } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { useArrival, useTitle } from "../elements/use-title";
import { momentWords } from "../shop/dates";
import { keepLetterKeys, letterKeys, personHere, shopHere, signedIn } from "../store";
import { deviceOf } from "../shop/device";
import { words } from "../words";
import { shopWords } from "../words/en-shop";
import { Settings } from "./shop/settings";

/** Oneself, the people and the shop's settings. */
export function ShopScreen() {
  useTitle(shopWords.title);
  useArrival();
  const isProprietor = personHere().roles.includes("proprietor");
  return (
    <div class="page plain-page">
      <Head at="shop" />
      <LineStrip onAgain={() => location.reload()} />
      <main id="main" tabIndex={-1}>
        <div class="row"><h1 class="grow">{shopWords.title}</h1><a class="btn" href="/ring-list">{words.pages.ring}</a><a class="btn" href="/evening">{words.pages.evening}</a></div>
        <div class="columns">
          <Me />
          <People isProprietor={isProprietor} />
          <Settings isProprietor={isProprietor} />
        </div>
      </main>
      <Thumb at="shop" />
    </div>
  );
}

function Me() {
  const me = personHere();
  const act = useAct();
  const [sessions, setSessions] = useState<SessionLine[]>([]);
  const fetchThem = async () => {
    const answer = await calls.sessions.list();
    if (answer.kind === "ok") setSessions(answer.value.items);
  };
  useEffect(() => void fetchThem(), []);
  const when = (instant: string) => momentWords(instant, shopHere().time_zone, new Date());
  return (
    <section>
      <h2>{shopWords.me}</h2>
      <div class="sheet stack">
        <p><b>{me.name}</b> {me.initials}<br />{me.email}<br /><span class="quiet">{words.common.list(me.roles.map((role) => words.roles[role]))}</span></p>
        <Tick label={shopWords.keysOn} checked={letterKeys.value} onInput={(event) => keepLetterKeys(event.currentTarget.checked)} />
        <p class="quiet">{shopWords.keysHelp}</p>
        <button type="button" class="btn" onClick={() => void door.signOut()}>{shopWords.signOut}</button>
      </div>
      <OwnPassword onChanged={fetchThem} />
      <h3>{shopWords.sessions}</h3>
      <ul class="entries">
        {sessions.map((one) => (
          <li key={one.id}>
            <span class="grow">{deviceWords(one.device)}{one.current ? <> · <b>{shopWords.thisOne}</b></> : ""}<br /><span class="quiet">{shopWords.lastUsed(when(one.last_used_at))}</span></span>
            {!one.current && <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.sessions.end(one.id), fetchThem)}>{shopWords.end}</Button>}
          </li>
        ))}
      </ul>
      <RefusalNote refusal={act.refusal} />
    </section>
  );
}

/** One's own password: the old one is asked for, and every other session ends. */
function OwnPassword({ onChanged }: { onChanged: () => Promise<void> }) {
  const act = useAct();
  const [state, setState] = useState<"closed" | "open" | "changed">("closed");
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    // A password is taken as it is typed, with any space around it.
    const data = new FormData(event.currentTarget);
    const typed = (name: string) => {
      const value = data.get(name);
      return typeof value === "string" ? value : "";
    };
    await act.run(() => calls.sessions.changePassword({ old_password: typed("old"), new_password: typed("new") }), async () => {
      setState("changed");
      await onChanged();
    });
  }
  if (state !== "open") {
    return (
      <div class="row">
        <button type="button" class="btn" onClick={() => setState("open")}>{shopWords.changePassword}</button>
        {state === "changed" && <span class="saved" role="status">{shopWords.passwordChanged}</span>}
      </div>
    );
  }
  return (
    <form class="form" aria-label={shopWords.changePassword} onSubmit={(event) => void save(event)}>
      {/* Where password managers look for whose it is. */}
      <input type="hidden" name="email" value={personHere().email} autocomplete="username" />
      <PasswordField label={shopWords.oldPassword} name="old" autocomplete="current-password" fault={faultAt(act.refusal, "/old_password")} />
      <PasswordField label={shopWords.newPassword} help={shopWords.passwordHelp} name="new" autocomplete="new-password" fault={faultAt(act.refusal, "/new_password")} />
      <p class="quiet">{shopWords.passwordEnds}</p>
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        <button type="button" class="btn" onClick={() => { act.clear(); setState("closed"); }}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy}>{shopWords.changePassword}</Button>
      </div>
    </form>
  );
}

function People({ isProprietor }: { isProprietor: boolean }) {
  const [people, setPeople] = useState<Person[]>([]);
  const [folder, setFolder] = useState<string>();
  const [first, setFirst] = useState(false);
  const [sent, setSent] = useState<Person>();
  const [adding, setAdding] = useState(false);
  const [changing, setChanging] = useState<string>();
  const act = useAct();
  const fetchThem = async () => {
    const answer = await calls.people.list();
    if (answer.kind !== "ok") return;
    setPeople(answer.value.items);
    setFolder(answer.value.mailbox_folder ?? undefined);
  };
  useEffect(() => void fetchThem(), []);
  async function add(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const roles = ticksIn(form, "roles").filter((role): role is Role => isOneOf<Role>(words.roles, role));
    await act.run(
      (once) => calls.people.add({ name: textIn(form, "name"), initials: textIn(form, "initials"), email: textIn(form, "email"), roles, ...(first ? { password: passwordIn(form) } : {}) }, once),
      async (person) => {
        setAdding(false);
        setSent(first ? undefined : person);
        await fetchThem();
      },
    );
  }
  return (
    <section>
      <h2>{shopWords.people}</h2>
      <ul class="entries">
        {people.map((one) => (
          <li key={one.id}>
            <span class="grow"><b>{one.name}</b> {one.initials}<br /><span class="quiet">{words.common.list([...one.roles.map((role) => words.roles[role]), ...(one.is_active ? [] : [shopWords.gone]), ...(one.invited_until ? [invitedWords(one.invited_until)] : [])])}</span></span>
            <a href={`mailto:${one.email}`}>{one.email}</a>
            {isProprietor && one.invited_until && one.is_active && <InviteAgain person={one} onSent={async () => { setSent(one); await fetchThem(); }} />}
            {isProprietor && <button type="button" class="link" aria-expanded={changing === one.id} onClick={() => setChanging(changing === one.id ? undefined : one.id)}>{words.common.change}</button>}
            {changing === one.id && <PersonForm key={one.version} person={one} onClose={() => setChanging(undefined)} fetchThem={fetchThem} />}
          </li>
        ))}
      </ul>
      {sent !== undefined && <p class="saved" role="status">{shopWords.invited(sent.email)} {folder !== undefined && shopWords.inFolder(folder)}</p>}
      {isProprietor && folder !== undefined && <p class="quiet">{shopWords.noMailServer(folder)}</p>}
      {isProprietor && (adding ? (
        <form class="form" aria-label={shopWords.addPerson} onSubmit={(event) => void add(event)}>
          <div class="cols">
            <TextField label={shopWords.name} name="name" required fault={faultAt(act.refusal, "/name")} />
            <TextField label={shopWords.initials} name="initials" required fault={faultAt(act.refusal, "/initials")} />
          </div>
          <TextField label={shopWords.email} name="email" type="email" required />
          <Tick label={shopWords.firstPassword} checked={first} onInput={(event) => setFirst(event.currentTarget.checked)} />
          {first
            ? <PasswordField label={shopWords.password} help={shopWords.firstPasswordHelp} name="password" autocomplete="new-password" fault={faultAt(act.refusal, "/password")} />
            : <p class="quiet">{shopWords.inviteHelp}</p>}
          <fieldset>
            <legend>{shopWords.roles}</legend>
            <div class="tickbox">{keysOf<Role>(words.roles).map((role) => <Tick key={role} name="roles" value={role} label={words.roles[role]} />)}</div>
          </fieldset>
          <RefusalNote refusal={act.refusal} />
          <div class="foot">
            <button type="button" class="btn" onClick={() => setAdding(false)}>{words.common.cancel}</button>
            <Button class="btn main" busy={act.busy}>{first ? shopWords.add : shopWords.invite}</Button>
          </div>
        </form>
      ) : (
        <button type="button" class="btn" onClick={() => setAdding(true)}>{shopWords.addPerson}</button>
      ))}
      {!isProprietor && <p class="quiet">{shopWords.onlyProprietor}</p>}
    </section>
  );
}

function passwordIn(form: HTMLFormElement): string {
  const value = new FormData(form).get("password");
  return typeof value === "string" ? value : "";
}

function invitedWords(until: string): string {
  const at = momentWords(until, shopHere().time_zone, new Date());
  return new Date(until) > new Date() ? shopWords.invitedUntil(at) : shopWords.invitationOver(at);
}

/** A new link for somebody who has not chosen a password yet; the one before opens nothing any more. */
function InviteAgain({ person, onSent }: { person: Person; onSent: () => Promise<void> }) {
  const act = useAct();
  return (
    <>
      <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run((once) => calls.people.invite(person.id, once), onSent)}>{shopWords.inviteAgain}</Button>
      <RefusalNote refusal={act.refusal} />
    </>
  );
}

/** Name, initials, what somebody may do, and whether they may sign in. */
function PersonForm({ person, onClose, fetchThem }: { person: Person; onClose: () => void; fetchThem: () => Promise<void> }) {
  const act = useAct();
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const roles = ticksIn(form, "roles").filter((role): role is Role => isOneOf<Role>(words.roles, role));
    await act.run(
      () => calls.people.edit(person.id, { name: textIn(form, "name"), initials: textIn(form, "initials"), roles, is_active: ticksIn(form, "active").length > 0 }, person.version),
      async (next) => {
        if (signedIn.value?.person.id === next.id) session.value = { ...signedIn.value, person: next };
        onClose();
        await fetchThem();
      },
    );
  }
  return (
    <form class="form wide" aria-label={person.name} onSubmit={(event) => void save(event)}>
      <div class="cols">
        <TextField label={shopWords.name} name="name" defaultValue={person.name} required fault={faultAt(act.refusal, "/name")} />
        <TextField label={shopWords.initials} name="initials" defaultValue={person.initials} required fault={faultAt(act.refusal, "/initials")} />
      </div>
      <fieldset>
        <legend>{shopWords.roles}</legend>
        <div class="tickbox">{keysOf<Role>(words.roles).map((role) => <Tick key={role} name="roles" value={role} label={words.roles[role]} defaultChecked={person.roles.includes(role)} />)}</div>
        {faultAt(act.refusal, "/roles") !== undefined && <p class="fault">{faultAt(act.refusal, "/roles")}</p>}
      </fieldset>
      <Tick name="active" value="yes" label={shopWords.active} defaultChecked={person.is_active} />
      <RefusalNote refusal={act.refusal} onReload={() => void fetchThem().then(act.clear)} />
      <div class="foot">
        <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
      </div>
    </form>
  );
}

/** The browser and the system it runs on; what is no browser says itself what it is. */
function deviceWords(agent: string): string {
  const device = deviceOf(agent);
  return device === undefined ? agent : shopWords.device(device.browser, device.system);
}
