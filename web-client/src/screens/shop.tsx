import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { door, session } from "../api/line";
import type { Person, Role, SessionLine } from "../api/shapes";
import { Button } from "../elements/button";
import { isOneOf, keysOf, TextField, textIn, Tick, ticksIn } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { useArrival, useTitle } from "../elements/use-title";
import { momentWords } from "../shop/dates";
import { keepLetterKeys, letterKeys, personHere, shopHere, signedIn } from "../store";
import { deviceOf } from "../shop/device";
import { words } from "../words";
import { Settings } from "./shop/settings";

/** Oneself, the people and the shop's settings. */
export function ShopScreen() {
  useTitle(words.shop.title);
  useArrival();
  const isProprietor = personHere().roles.includes("proprietor");
  return (
    <div class="page plain-page">
      <Head at="shop" />
      <LineStrip onAgain={() => location.reload()} />
      <main id="main" tabIndex={-1}>
        <div class="row"><h1 class="grow">{words.shop.title}</h1><a class="btn" href="/evening">{words.pages.evening}</a></div>
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
      <h2>{words.shop.me}</h2>
      <div class="sheet stack">
        <p><b>{me.name}</b> {me.initials}<br />{me.email}<br /><span class="quiet">{words.common.list(me.roles.map((role) => words.roles[role]))}</span></p>
        <Tick label={words.shop.keysOn} checked={letterKeys.value} onInput={(event) => keepLetterKeys(event.currentTarget.checked)} />
        <p class="quiet">{words.shop.keysHelp}</p>
        <button type="button" class="btn" onClick={() => void door.signOut()}>{words.shop.signOut}</button>
      </div>
      <h3>{words.shop.sessions}</h3>
      <ul class="entries">
        {sessions.map((one) => (
          <li key={one.id}>
            <span class="grow">{deviceWords(one.device)}{one.current ? <> · <b>{words.shop.thisOne}</b></> : ""}<br /><span class="quiet">{words.shop.lastUsed(when(one.last_used_at))}</span></span>
            {!one.current && <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run(() => calls.sessions.end(one.id), fetchThem)}>{words.shop.end}</Button>}
          </li>
        ))}
      </ul>
      <RefusalNote refusal={act.refusal} />
    </section>
  );
}

function People({ isProprietor }: { isProprietor: boolean }) {
  const [people, setPeople] = useState<Person[]>([]);
  const [adding, setAdding] = useState(false);
  const [changing, setChanging] = useState<string>();
  const act = useAct();
  const fetchThem = async () => {
    const answer = await calls.people.list();
    if (answer.kind === "ok") setPeople(answer.value.items);
  };
  useEffect(() => void fetchThem(), []);
  async function add(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const roles = ticksIn(form, "roles").filter((role): role is Role => isOneOf<Role>(words.roles, role));
    await act.run(
      (once) => calls.people.add({ name: textIn(form, "name"), initials: textIn(form, "initials"), email: textIn(form, "email"), password: textIn(form, "password"), roles }, once),
      async () => {
        setAdding(false);
        await fetchThem();
      },
    );
  }
  return (
    <section>
      <h2>{words.shop.people}</h2>
      <ul class="entries">
        {people.map((one) => (
          <li key={one.id}>
            <span class="grow"><b>{one.name}</b> {one.initials}<br /><span class="quiet">{words.common.list([...one.roles.map((role) => words.roles[role]), ...(one.is_active ? [] : [words.shop.gone])])}</span></span>
            <a href={`mailto:${one.email}`}>{one.email}</a>
            {isProprietor && <button type="button" class="link" aria-expanded={changing === one.id} onClick={() => setChanging(changing === one.id ? undefined : one.id)}>{words.common.change}</button>}
            {changing === one.id && <PersonForm key={one.version} person={one} onClose={() => setChanging(undefined)} fetchThem={fetchThem} />}
          </li>
        ))}
      </ul>
      {isProprietor && (adding ? (
        <form class="form" aria-label={words.shop.addPerson} onSubmit={(event) => void add(event)}>
          <div class="cols">
            <TextField label={words.shop.name} name="name" required fault={faultAt(act.refusal, "/name")} />
            <TextField label={words.shop.initials} name="initials" required fault={faultAt(act.refusal, "/initials")} />
          </div>
          <TextField label={words.shop.email} name="email" type="email" required />
          <TextField label={words.shop.password} help={words.shop.passwordHelp} name="password" type="password" autocomplete="new-password" required />
          <fieldset>
            <legend>{words.shop.roles}</legend>
            <div class="tickbox">{keysOf<Role>(words.roles).map((role) => <Tick key={role} name="roles" value={role} label={words.roles[role]} />)}</div>
          </fieldset>
          <RefusalNote refusal={act.refusal} />
          <div class="foot">
            <button type="button" class="btn" onClick={() => setAdding(false)}>{words.common.cancel}</button>
            <Button class="btn main" busy={act.busy}>{words.shop.add}</Button>
          </div>
        </form>
      ) : (
        <button type="button" class="btn" onClick={() => setAdding(true)}>{words.shop.addPerson}</button>
      ))}
      {!isProprietor && <p class="quiet">{words.shop.onlyProprietor}</p>}
    </section>
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
        <TextField label={words.shop.name} name="name" defaultValue={person.name} required fault={faultAt(act.refusal, "/name")} />
        <TextField label={words.shop.initials} name="initials" defaultValue={person.initials} required fault={faultAt(act.refusal, "/initials")} />
      </div>
      <fieldset>
        <legend>{words.shop.roles}</legend>
        <div class="tickbox">{keysOf<Role>(words.roles).map((role) => <Tick key={role} name="roles" value={role} label={words.roles[role]} defaultChecked={person.roles.includes(role)} />)}</div>
        {faultAt(act.refusal, "/roles") !== undefined && <p class="fault">{faultAt(act.refusal, "/roles")}</p>}
      </fieldset>
      <Tick name="active" value="yes" label={words.shop.active} defaultChecked={person.is_active} />
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
  return device === undefined ? agent : words.shop.device(device.browser, device.system);
}
