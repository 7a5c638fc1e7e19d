import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { ShopBench } from "../../api/shapes";
import { SelectField, TextField } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { plainWords } from "../../elements/stale-panel";
import type { Refusal } from "../../elements/use-act";
import { benchDraftOf, benchFrom, fieldsOfBench, JOINTS, MOST_STATIONS, PROTECTIONS, readBench, renamed, withoutStation, withStation, type BenchDraft } from "../../shop/bench-draft";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { benchWords } from "../../words/en-bench";
import { SaveFoot } from "./save-foot";
import { useSheet } from "./use-sheet";

/** What the plan must know of this bench: where work is done, what a change costs, minutes around a joint. */
export function BenchForm() {
  const [bench, setBench] = useState<ShopBench>();
  const [refusal, setRefusal] = useState<Refusal>();
  const fetchIt = async () => {
    const answer = await calls.bench();
    if (answer.kind === "ok") setBench(answer.value);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  };
  useEffect(() => void fetchIt(), []);
  return (
    <details class="sheet">
      <summary>{benchWords.title}</summary>
      {bench !== undefined ? <Fields bench={bench} onBench={setBench} /> : refusal === undefined ? <p class="quiet">{words.common.fetching}</p> : (
        <>
          <RefusalNote refusal={refusal} />
          <p><button type="button" class="link" onClick={() => void fetchIt()}>{words.line.again}</button></p>
        </>
      )}
    </details>
  );
}

function Fields({ bench, onBench }: { bench: ShopBench; onBench: (bench: ShopBench) => void }) {
  const { draft, change: changeBy, faults, saved, act, save, look, panel } = useSheet<ShopBench, BenchDraft, string>({
    value: bench,
    draftOf: (of) => benchDraftOf(of.settings),
    fieldsOf: fieldsOfBench,
    draftFrom: benchFrom,
    read: (typed) => {
      const read = readBench(typed);
      return "faults" in read ? read : { send: (seen) => calls.setBench(read.settings, seen) };
    },
    fetch: calls.bench,
    onSaved: onBench,
    what: benchWords.version,
    fieldWords,
    show: showField,
  });
  const change = (next: BenchDraft) => changeBy(() => next);
  const wrong = (field: string, said: string) => (faults.includes(field) ? said : undefined);
  const minutes = (field: string, label: string, value: string, onValue: (typed: string) => void) => (
    <TextField label={label} hideLabel class="num" inputMode="numeric" value={value} fault={wrong(field, benchWords.badMinutes)} onInput={(event) => onValue(event.currentTarget.value)} />
  );
  const setChange = (from: number, to: number, typed: string) =>
    change({ ...draft, changeover: draft.changeover.map((row, i) => (i === from ? row.map((one, j) => (j === to ? typed : one)) : row)) });
  const nameOf = (at: number) => draft.stations[at]?.trim() || benchWords.station(at + 1);
  if (panel !== undefined) return panel;
  return (
    <form class="stack" aria-label={benchWords.title} onSubmit={save}>
      <p class="quiet">{benchWords.help} {bench.is_typical && <b>{benchWords.typical}</b>}</p>
      <fieldset class="stack">
        <legend>{benchWords.stations}</legend>
        <p class="quiet">{benchWords.stationsHelp}</p>
        <div class="wide-table">
          <table class="bill limits changeovers">
            <thead><tr><th>{benchWords.from}</th>{draft.stations.map((_, at) => <th key={at}>{nameOf(at)}</th>)}<th><span class="vh">{words.quoteTab.remove}</span></th></tr></thead>
            <tbody>
              {draft.stations.map((name, from) => (
                <tr key={from}>
                  <th scope="row"><TextField label={benchWords.station(from + 1)} hideLabel value={name} fault={wrong(`station ${from}`, benchWords.badStation)} onInput={(event) => change(renamed(draft, from, event.currentTarget.value))} /></th>
                  {draft.stations.map((_, to) => <td key={to}>{from === to ? "–" : minutes(`changeover ${from} ${to}`, benchWords.changeover(nameOf(from), nameOf(to)), draft.changeover[from]?.[to] ?? "", (typed) => setChange(from, to, typed))}</td>)}
                  <td>{draft.stations.length > 1 && <button type="button" class="btn" aria-label={benchWords.removeStation(nameOf(from))} onClick={() => change(withoutStation(draft, from))}>{words.quoteTab.remove}</button>}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        <div class="row">
          {draft.stations.length < MOST_STATIONS && <button type="button" class="btn" onClick={() => change(withStation(draft))}>{benchWords.addStation}</button>}
        </div>
        <SelectField label={benchWords.start} value={draft.start === undefined ? "" : String(draft.start)} onInput={({ currentTarget: { value } }) => change({ ...draft, start: value === "" ? undefined : Number(value) })}>
          <option value="">{benchWords.startNone}</option>
          {draft.stations.map((_, at) => <option key={at} value={String(at)} selected={at === draft.start}>{nameOf(at)}</option>)}
        </SelectField>
      </fieldset>
      <div class="wide-table"><table class="bill limits">
        <thead><tr><th>{benchWords.joint}</th><th>{benchWords.take}</th><th>{benchWords.put}</th></tr></thead>
        <tbody>
          {JOINTS.map((joint) => (
            <tr key={joint}>
              <th scope="row">{words.map.held[joint]}</th>
              <td>{minutes(`take ${joint}`, `${words.map.held[joint]}: ${benchWords.take}`, draft.take[joint], (typed) => change({ ...draft, take: { ...draft.take, [joint]: typed } }))}</td>
              <td>{minutes(`put ${joint}`, `${words.map.held[joint]}: ${benchWords.put}`, draft.put[joint], (typed) => change({ ...draft, put: { ...draft.put, [joint]: typed } }))}</td>
            </tr>
          ))}
        </tbody>
      </table></div>
      <table class="bill limits">
        <thead><tr><th>{benchWords.protect}</th><th><span class="vh">{words.workTab.minutes}</span></th></tr></thead>
        <tbody>
          {PROTECTIONS.map((how) => (
            <tr key={how}>
              <th scope="row">{benchWords.protects[how]}</th>
              <td>{minutes(`protect ${how}`, `${benchWords.protects[how]}: ${benchWords.protect}`, draft.protect[how], (typed) => change({ ...draft, protect: { ...draft.protect, [how]: typed } }))}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <div class="care">
        <TextField label={benchWords.margin} class="num" inputMode="decimal" value={draft.margin} fault={wrong("margin", benchWords.badMargin)} onInput={(event) => change({ ...draft, margin: event.currentTarget.value })} />
        <TextField label={benchWords.rod} class="num" inputMode="decimal" value={draft.rod} fault={wrong("rod", benchWords.badRod)} onInput={(event) => change({ ...draft, rod: event.currentTarget.value })} />
      </div>
      {faults.length > 0 && <p class="fault" role="alert">{shopWords.faults(faults.length)}</p>}
      <SaveFoot act={act} saved={saved} onReload={() => void look()} />
    </form>
  );
}

/** A field of the sheet as its label says it. */
function fieldWords(field: string): string {
  const fields: Record<string, string> = {
    ...Object.fromEntries(JOINTS.flatMap((joint) => [[`take ${joint}`, `${words.map.held[joint]}: ${benchWords.take}`], [`put ${joint}`, `${words.map.held[joint]}: ${benchWords.put}`]])),
    ...Object.fromEntries(PROTECTIONS.map((how) => [`protect ${how}`, `${benchWords.protects[how]}: ${benchWords.protect}`])),
    stations: benchWords.stations, margin: benchWords.margin, rod: benchWords.rod,
  };
  return fields[field] ?? field;
}

/** The stations are told with the minutes between them and where the day begins. */
function showField(field: string, value: unknown): string {
  if (field !== "stations") return plainWords(value);
  const { stations, changeover, start } = benchFrom({ stations: value });
  const between = stations.map((from, i) => benchWords.between(from, (changeover[i] ?? []).filter((_, j) => i !== j)));
  return [stations.join(", "), ...between, ...(start === undefined ? [] : [benchWords.begins(stations[start] ?? "")])].join("; ");
}
