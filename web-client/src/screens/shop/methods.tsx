import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { FindingKind, Heat, JointKind, Method, MethodEdit, NewMethod } from "../../api/shapes";
import { isOneOf, keysOf, Options, SelectField, TextField, Tick } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { plainWords, StalePanel } from "../../elements/stale-panel";
import { faultAt, useAct } from "../../elements/use-act";
import { changeOfMethod, draftOfMethod, readMethod, type MethodDraft, type MethodFault } from "../../shop/method-draft";
import { moneyWords } from "../../shop/money";
import { fetchLists, shopHere } from "../../store";
import { words } from "../../words";

/** The shop's ways of doing a kind of work, which are its price list: the proprietor changes them. */
export function MethodList() {
  const [list, setList] = useState<Method[]>([]);
  const [standard, setStandard] = useState<NewMethod[]>([]);
  const [stations, setStations] = useState<string[]>([]);
  const [writing, setWriting] = useState<string>();
  const act = useAct();
  const fetchIt = async () => {
    const [methods, bench] = await Promise.all([calls.methods(), calls.bench()]);
    if (methods.kind === "ok") {
      setList(methods.value.items);
      setStandard(methods.value.standard);
    }
    if (bench.kind === "ok") setStations(bench.value.settings.stations);
  };
  // Every other screen takes the methods from the store.
  const written = async () => {
    setWriting(undefined);
    await Promise.all([fetchIt(), fetchLists()]);
  };
  useEffect(() => void fetchIt(), []);
  return (
    <details class="sheet">
      <summary>{words.methods.title}</summary>
      <div class="stack">
        <p class="quiet">{words.methods.help}</p>
        <ul class="entries methods">
          {list.map((method) => (
            <li key={method.id}>
              <span class="grow">
                <b>{method.name}</b>{method.is_offered ? "" : ` · ${words.methods.notOffered}`}<br />
                <span class="quiet">{aboutOf(method).join(" · ")}</span>
              </span>
              <span class="minutes">{words.methods.span(method.minutes.low, method.minutes.high)}</span>
              <b class="amount">{priceWords(method)}</b>
              <button type="button" class="link" aria-expanded={writing === method.id} aria-label={words.methods.changeNamed(method.name)} onClick={() => setWriting(writing === method.id ? undefined : method.id)}>{words.common.change}</button>
              {writing === method.id && <MethodForm key={method.version} method={method} stations={stations} onClose={() => setWriting(undefined)} onWritten={written} onReload={fetchIt} />}
            </li>
          ))}
        </ul>
        {writing === "new" ? (
          <MethodForm stations={stations} onClose={() => setWriting(undefined)} onWritten={written} onReload={fetchIt} />
        ) : (
          <button type="button" class="btn" onClick={() => setWriting("new")}>{words.methods.add}</button>
        )}
        {standard.length > 0 && (
          <>
            <h3>{words.methods.standard}</h3>
            <p class="quiet">{words.methods.standardHelp}</p>
            <ul class="entries methods">
              {standard.map((method) => (
                <li key={method.name}>
                  <span class="grow"><b>{method.name}</b><br /><span class="quiet">{words.heats[method.heat]}</span></span>
                  <span class="minutes">{words.methods.span(method.minutes.low, method.minutes.high)}</span>
                  <b class="amount">{priceWords(method)}</b>
                  <button type="button" class="btn" disabled={act.busy} aria-label={words.methods.addNamed(method.name)} onClick={() => void act.run((once) => calls.addMethod(method, once), written)}>{words.methods.addIt}</button>
                </li>
              ))}
            </ul>
            <RefusalNote refusal={act.refusal} />
          </>
        )}
      </div>
    </details>
  );
}

function aboutOf(method: Method): string[] {
  return [
    ...(method.heat === "none" ? [] : [words.heats[method.heat]]),
    ...(method.own_count == null ? [words.methods.typical(method.own_from)] : [words.workTab.ownMinutes(method.own_count)]),
    ...(method.irreversible ? [words.workTab.irreversibleWords] : []),
  ];
}

/** A price of nothing means the hour's rate. */
function priceWords({ price }: Pick<Method, "price">): string {
  return Number(price.amount) === 0 ? words.methods.byTheHour : moneyWords(price);
}

function MethodForm({ method, stations, onClose, onWritten, onReload }: { method?: Method; stations: readonly string[]; onClose: () => void; onWritten: () => Promise<void>; onReload: () => Promise<void> }) {
  const act = useAct();
  const { currency } = shopHere();
  const [draft, setDraft] = useState<MethodDraft>(() => draftOfMethod(method, stations[0] ?? ""));
  const [faults, setFaults] = useState<readonly MethodFault[]>([]);
  const [tried, setTried] = useState<MethodEdit>({});
  const set = (change: Partial<MethodDraft>) => setDraft((old) => ({ ...old, ...change }));
  const text = (name: "name" | "low" | "typical" | "high" | "price" | "heat_c") => ({
    value: draft[name],
    onInput: (event: { currentTarget: HTMLInputElement }) => set({ [name]: event.currentTarget.value }),
  });
  const wrong = (fault: MethodFault, said: string) => (faults.includes(fault) ? said : faultAt(act.refusal, `/${fault}`));
  async function send(edit: MethodEdit, seen: number) {
    if (method === undefined) return;
    setTried(edit);
    await act.run(() => calls.amendMethod(method.id, edit, seen), onWritten);
  }
  async function save(event: Event) {
    event.preventDefault();
    const read = readMethod(draft, currency);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) return;
    if (method === undefined) return void (await act.run((once) => calls.addMethod(read.method, once), onWritten));
    const edit = changeOfMethod(method, read.method, draft.is_offered);
    if (Object.keys(edit).length === 0) return onClose();
    await send(edit, method.version);
  }
  if (act.refusal?.kind === "stale") {
    const { current } = act.refusal;
    return (
      <StalePanel
        stale={current}
        what={words.methods.stale(method?.name ?? draft.name)}
        show={(_, value) => plainWords(value)}
        busy={act.busy}
        onChosen={(mine) => {
          const rest: MethodEdit = Object.fromEntries(Object.entries(tried).filter(([field]) => mine.has(field)));
          if (Object.keys(rest).length === 0) void onReload().then(onClose);
          else void send(rest, current.current_version);
        }}
      />
    );
  }
  const toggled = <T extends string>(from: ReadonlySet<T>, one: T, on: boolean): ReadonlySet<T> => new Set(on ? [...from, one] : [...from].filter((other) => other !== one));
  const isHot = draft.heat !== "none";
  const fillers = draft.heat === "solder" ? words.methods.softSolders : words.methods.brazingFillers;
  return (
    <form class="form wide method" aria-label={method?.name ?? words.methods.add} onSubmit={(event) => void save(event)}>
      <div class="cols name-price">
        <TextField label={words.methods.name} {...text("name")} fault={wrong("name", words.common.required)} />
        <TextField label={`${words.workTab.price}, ${currency}`} help={words.methods.priceHelp} inputMode="decimal" class="num" {...text("price")} fault={wrong("price", words.checkIn.noAmount(currency))} />
      </div>
      <div class="cols aligned">
        <div class="field">
          <span>{words.workTab.minutes}</span>
          <div class="three-numbers">
            {(["low", "typical", "high"] as const).map((name) => <TextField key={name} label={words.workTab[name]} hideLabel placeholder={words.workTab[name]} inputMode="numeric" class="num" {...text(name)} />)}
          </div>
          {method?.own_count != null && <small>{words.methods.ownCount(method.own_count)}</small>}
          {wrong("minutes", words.workTab.order.first) !== undefined && <p class="fault">{wrong("minutes", words.workTab.order.first)}</p>}
        </div>
        <SelectField label={words.workTab.heat} value={draft.heat} onInput={(event) => {
          const { value } = event.currentTarget;
          // A filler of the other heat does not go with it.
          if (isOneOf<Heat>(words.heats, value)) set({ heat: value, filler: "", heat_c: "" });
        }}>
          <Options of={words.heats} chosen={draft.heat} />
        </SelectField>
        <SelectField label={words.methods.station} value={draft.station} fault={faultAt(act.refusal, "/station")} onInput={(event) => set({ station: event.currentTarget.value })}>
          {[...new Set([...stations, draft.station])].map((one) => <option key={one} value={one} selected={one === draft.station}>{one}</option>)}
        </SelectField>
      </div>
      {isHot && (
        <div class="cols aligned">
          <SelectField label={words.methods.filler} value={draft.filler} fault={faultAt(act.refusal, "/filler")} onInput={(event) => set({ filler: event.currentTarget.value })}>
            <option value="">{words.methods.typicalFiller}</option>
            <Options of={fillers} chosen={draft.filler} />
          </SelectField>
          <TextField label={words.methods.heatC} help={words.methods.heatCHelp} inputMode="numeric" class="num" {...text("heat_c")} fault={wrong("heat_c", words.methods.noHeat)} />
          <SelectField label={words.methods.joint} value={draft.joint_kind} fault={faultAt(act.refusal, "/joint_kind")} onInput={(event) => set({ joint_kind: event.currentTarget.value })}>
            <option value="">{words.methods.noJoint}</option>
            <Options of={words.methods.joints} chosen={draft.joint_kind} />
          </SelectField>
        </div>
      )}
      <SelectField label={words.methods.plates} value={draft.plating_metal} onInput={(event) => set({ plating_metal: event.currentTarget.value })}>
        <option value="">{words.methods.platesNothing}</option>
        <Options of={words.methods.metals} chosen={draft.plating_metal} />
      </SelectField>
      <fieldset>
        <legend>{words.methods.answers}</legend>
        <div class="tick-list narrow">{keysOf<FindingKind>(words.findings).map((kind) => <Tick key={kind} label={words.findings[kind]} checked={draft.answers.has(kind)} onInput={(event) => set({ answers: toggled(draft.answers, kind, event.currentTarget.checked) })} />)}</div>
      </fieldset>
      <fieldset>
        <legend>{words.methods.needsApart}</legend>
        <div class="tick-list narrow">{keysOf<JointKind>(words.map.held).map((kind) => <Tick key={kind} label={words.map.held[kind]} checked={draft.needs_apart.has(kind)} onInput={(event) => set({ needs_apart: toggled(draft.needs_apart, kind, event.currentTarget.checked) })} />)}</div>
      </fieldset>
      <fieldset>
        <legend>{words.methods.cautions}</legend>
        <p class="quiet">{words.methods.cautionsHelp} {words.order.cautionEnd}</p>
        <div class="tick-list">{Object.entries(words.cautions).map(([slug, said]) => <Tick key={slug} label={said} checked={draft.cautions.has(slug)} onInput={(event) => set({ cautions: toggled(draft.cautions, slug, event.currentTarget.checked) })} />)}</div>
      </fieldset>
      <div class="tickbox">
        <Tick label={words.workTab.irreversible} checked={draft.irreversible} onInput={(event) => set({ irreversible: event.currentTarget.checked })} />
        {method !== undefined && <Tick label={words.methods.offered} checked={draft.is_offered} onInput={(event) => set({ is_offered: event.currentTarget.checked })} />}
      </div>
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
        <button class="btn main" disabled={act.busy}>{method === undefined ? words.methods.record : words.common.save}</button>
      </div>
    </form>
  );
}
