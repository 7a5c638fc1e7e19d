import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { door } from "../api/line";
import type { Person, Role, SessionLine, Shop } from "../api/shapes";
import { amountIn, AreaField, isOneOf, keysOf, TextField, textIn, Tick, ticksIn } from "../elements/form";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { RefusalNote } from "../elements/refusal-note";
import { useAct } from "../elements/use-act";
import { useArrival, useTitle } from "../elements/use-title";
import { momentWords } from "../shop/dates";
import { moneyWords } from "../shop/money";
import { keepLetterKeys, letterKeys, personHere, shopHere } from "../store";
import { words } from "../words";

/** Oneself, the people and the shop's settings: a short list, the rest is set up once by the server's owner. */
export function ShopScreen() {
  useTitle(words.shop.title);
  useArrival();
  const isProprietor = personHere().roles.includes("proprietor");
  return (
    <div class="page plain-page">
      <Head at="shop" />
      <LineStrip onAgain={() => location.reload()} />
      <main id="main" tabIndex={-1}>
        <h1>{words.shop.title}</h1>
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
            <span class="grow">{one.device}{one.current ? <> · <b>{words.shop.thisOne}</b></> : ""}<br /><span class="quiet">{words.shop.lastUsed(when(one.last_used_at))}</span></span>
            {!one.current && <button type="button" class="btn" disabled={act.busy} onClick={() => void act.run(() => calls.sessions.end(one.id), fetchThem)}>{words.shop.end}</button>}
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
            <span class="grow"><b>{one.name}</b> {one.initials}<br /><span class="quiet">{words.common.list(one.roles.map((role) => words.roles[role]))}</span></span>
            <a href={`mailto:${one.email}`}>{one.email}</a>
          </li>
        ))}
      </ul>
      {isProprietor && (adding ? (
        <form class="form" aria-label={words.shop.addPerson} onSubmit={(event) => void add(event)}>
          <div class="cols">
            <TextField label={words.shop.name} name="name" required />
            <TextField label={words.shop.initials} name="initials" required />
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
            <button class="btn main" disabled={act.busy}>{words.shop.add}</button>
          </div>
        </form>
      ) : (
        <button type="button" class="btn" onClick={() => setAdding(true)}>{words.shop.addPerson}</button>
      ))}
      {!isProprietor && <p class="quiet">{words.shop.onlyProprietor}</p>}
    </section>
  );
}

function Settings({ isProprietor }: { isProprietor: boolean }) {
  const [shop, setShop] = useState<Shop>();
  const [saved, setSaved] = useState(false);
  const [wrong, setWrong] = useState(false);
  const act = useAct();
  const fetchIt = async () => {
    const answer = await calls.shop.get();
    if (answer.kind === "ok") setShop(answer.value);
  };
  useEffect(() => void fetchIt(), []);
  const here = shop ?? shopHere();
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const rate = amountIn(form, "labour_rate");
    setWrong(!rate);
    if (!rate || shop === undefined) return;
    setSaved(false);
    await act.run(
      () => calls.shop.edit({ name: textIn(form, "name"), phone: textIn(form, "phone"), email: textIn(form, "email"), address: textIn(form, "address"), labour_rate: rate.amount }, shop.version),
      async () => {
        setSaved(true);
        await fetchIt();
      },
    );
  }
  const fixed = (
    <dl class="sheet facts-list">
      <div><dt class="quiet">{words.shop.timeZone}</dt><dd>{here.time_zone}</dd></div>
      <div><dt class="quiet">{words.shop.currency}</dt><dd>{here.currency}</dd></div>
      <div><dt class="quiet">{words.shop.taxes}</dt><dd>{words.common.list(here.tax_classes.map((one) => words.quoteTab.taxOf(one.percent)))}; {here.prices_include_tax ? words.shop.taxIncluded : words.shop.taxOnTop}</dd></div>
    </dl>
  );
  return (
    <section>
      <h2>{words.shop.settings}</h2>
      {isProprietor ? (
        <form class="form" key={shop?.version ?? 0} aria-label={words.shop.settings} onSubmit={(event) => void save(event)}>
          <TextField label={words.shop.name} name="name" defaultValue={here.name} required />
          <TextField label={words.shop.phone} name="phone" type="tel" defaultValue={here.phone ?? ""} />
          <TextField label={words.shop.email} name="email" type="email" defaultValue={here.email ?? ""} />
          <AreaField label={words.shop.address} name="address" defaultValue={here.address ?? ""} />
          <TextField label={words.shop.labourRate} name="labour_rate" class="num" inputMode="decimal" defaultValue={here.labour_rate.amount} fault={wrong ? words.checkIn.noAmount(here.currency) : undefined} />
          <RefusalNote refusal={act.refusal} onReload={() => void fetchIt().then(act.clear)} />
          <div class="foot">
            {saved && <span class="saved" role="status">{words.shop.saved}</span>}
            <button class="btn main" disabled={act.busy || shop === undefined}>{words.common.save}</button>
          </div>
        </form>
      ) : (
        <p class="sheet">{here.name}<br />{here.address}<br />{here.phone}<br />{here.email}<br /><span class="quiet">{words.shop.labourRate}: {moneyWords(here.labour_rate)}</span></p>
      )}
      {fixed}
    </section>
  );
}
