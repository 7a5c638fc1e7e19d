import { useEffect, useMemo, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, HowMuch, PartMap, Test, TestKind, TestMethod, Verdict } from "../../api/shapes";
import { Button } from "../../elements/button";
import { Cautions } from "../../elements/cautions";
import { findingWords, useFindingFields } from "../../elements/finding-form";
import { keysOf, SelectField, TextField, textIn, Tick, ticksIn } from "../../elements/form";
import { PartMapView, type MapPlace } from "../../elements/part-map";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct } from "../../elements/use-act";
import { useOrderMap } from "../../elements/use-order-map";
import { momentWords } from "../../shop/dates";
import { withIds } from "../../shop/drawing";
import { lastFailure, whereItFailed } from "../../shop/failed-tests";
import { instrumentWords } from "../../shop/instrument";
import { millimetresAt } from "../../shop/part-line";
import { readDecimal } from "../../shop/quote-draft";
import { TEST_CAUTIONS } from "../../shop/test-cautions";
import { spotAtFinding, spotsOf, spotWithoutPart, testedPart, type MoreSpot } from "../../shop/test-draft";
import { plain, withUncertainty } from "../../shop/uncertain";
import { partWords, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";
import { Fits } from "./fits";
import { PressureReadings, PressureSays, type PressureHere } from "./pressure";

/** What has to pass, what did, and the form to record the next one. */
export function TestsPart({ order, reload }: PartProps) {
  const numberOf = (id: string) => order.findings.find((one) => one.id === id)?.number;
  return (
    <>
      <div class="sheet stack">
        <h2>{words.testsTab.required}</h2>
        {order.required_tests.length === 0 ? <p class="quiet">{words.testsTab.nothingRequired}</p> : (
          <ul class="needed">
            {order.required_tests.map((one) => (
              <li key={one.kind} class={one.passed ? "passed" : ""}>{words.testKinds[one.kind]}: {one.passed ? words.testsTab.passed : lastFailure(order.tests, one.kind) === undefined ? words.testsTab.open : words.testsTab.failedBefore}</li>
            ))}
          </ul>
        )}
        <FailedBefore order={order} />
      </div>
      {order.stage === "leak_test" ? <NewTestForm order={order} reload={reload} />
        : order.stage === "pickup" ? cameThroughTests(order) && <PlayedForm order={order} reload={reload} />
        : order.stage !== "closed" && <p class="sheet">{words.testsTab.notInTest}</p>}
      <div>
        <h2>{words.testsTab.done}</h2>
        {order.tests.length === 0 && <p class="quiet">{words.testsTab.none}</p>}
        <ol class="tests">
          {order.tests.toReversed().map((test) => (
            <li key={test.id}>
              <span class={`verdict ${test.verdict ?? ""}`}>{test.verdict ? words.verdicts[test.verdict] : words.testsTab.noVerdict}</span>
              <span>
                <b>{words.testKinds[test.kind]}</b>
                {test.method ? ` · ${words.testMethods[test.method].toLowerCase()}` : ""}
                {test.scope ? ` · ${test.scope}` : ""}
                {test.pressure ? ` · ${rateWords(test.pressure)}` : ""}
                {test.overruled_because ? ` · ${words.pressure.overruled(test.overruled_because)}` : ""}
                {test.spots.length > 0 ? ` · ${words.common.list(test.spots.map((spot) => spotWords(spot, order.instrument.family)))}` : ""}
                {test.where_words ? ` · ${words.testsTab.failedAt(test.where_words)}` : ""}
                {test.finding_id && numberOf(test.finding_id) !== undefined ? ` · ${words.findingsTab.number(numberOf(test.finding_id) ?? 0)}` : ""}
                {test.apart_from.length > 0 ? ` · ${words.testsTab.apartFrom(words.common.list(test.apart_from.map((id) => String(numberOf(id) ?? ""))))}` : ""}
                {test.note ? ` · ${test.note}` : ""}
                <br /><span class="quiet">{words.testsTab.by(test.by.name, momentWords(test.at, shopHere().time_zone, new Date()))}</span>
              </span>
            </li>
          ))}
        </ol>
      </div>
      <Fits order={order} reload={reload} />
    </>
  );
}

/** What failed and has not passed since: where, and when; said wherever the next test is begun. */
function FailedBefore({ order }: { order: PartProps["order"] }) {
  const failures = order.required_tests.flatMap(({ kind, passed }) => (passed ? [] : [lastFailure(order.tests, kind)])).filter((one) => one !== undefined);
  return failures.map((test) => (
    <p key={test.id} class="heed">{words.testsTab.failedThen(words.testKinds[test.kind], momentWords(test.at, shopHere().time_zone, new Date()), whereItFailed(test, order, partWords))}</p>
  ));
}

/** The last required pass, or the proprietor's word, brought it to pickup. */
function cameThroughTests(order: PartProps["order"]): boolean {
  const last = order.stage_changes.findLast((one) => one.to === "pickup")?.because;
  return last === "tests_passed" || last === "overridden";
}

/** It is often played once more on the shelf: kept, and it moves nothing. What fails goes back by its own move. */
function PlayedForm({ order, reload }: PartProps) {
  const act = useAct();
  return (
    <form class="form" aria-label={words.testsTab.playedRecord} onSubmit={(event) => {
      event.preventDefault();
      const form = event.currentTarget;
      const note = textIn(form, "test_note");
      void act.run(
        (once) => calls.tests.add(order.id, { kind: "play_test", method: "played", verdict: "passed", ...(note === "" ? {} : { note }) }, once, order.version),
        async () => {
          form.reset();
          await reload();
        },
      );
    }}>
      <h2>{words.testsTab.playedRecord}</h2>
      <Cautions slugs={TEST_CAUTIONS.played} />
      <p class="quiet">{words.testsTab.playedFails}</p>
      <TextField label={words.testsTab.note} name="test_note" />
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      <Button class="btn bench" busy={act.busy}>{words.testsTab.playedWell}</Button>
    </form>
  );
}

/** `4.8 ± 1.4 ml a minute, limit 5.9` */
function rateWords(pressure: NonNullable<Test["pressure"]>): string {
  const { value, uncertainty } = withUncertainty(pressure.leak_rate_ml_min, pressure.expanded_uncertainty_ml_min);
  return words.pressure.recorded(value, uncertainty, pressure.limit_ml_min == null ? undefined : plain(pressure.limit_ml_min));
}

function spotWords(spot: Test["spots"][number], family: Family): string {
  return words.testsTab.spot(partWords(family, spot.part), [
    ...(spot.how_much ? [words.testsTab.howMuchWords[spot.how_much].toLowerCase()] : []),
    ...(spot.gap_mm ? [words.testsTab.gapWords(spot.gap_mm)] : []),
    ...(spot.bubbles_per_minute == null ? [] : [words.testsTab.bubblesWords(spot.bubbles_per_minute)]),
  ]);
}

function methodsFor(kind: TestKind): TestMethod[] {
  const all = keysOf<TestMethod>(words.testMethods);
  return kind === "play_test" ? ["played"] : all.filter((method) => method !== "played");
}

function NewTestForm({ order, reload }: PartProps) {
  const act = useAct();
  const open = order.required_tests.find((one) => !one.passed)?.kind ?? "leak_test";
  const [kind, setKind] = useState<TestKind>(open);
  const [method, setMethod] = useState<TestMethod>(methodsFor(open)[0] ?? "finger_and_blow");
  const [failing, setFailing] = useState(false);
  // What was written of a failure stays written while something else is looked at.
  const [begun, setBegun] = useState<{ failure?: true; finding?: true; readings?: true }>({});
  const [where, setWhere] = useState<string>();
  const [unpinned, setUnpinned] = useState(false);
  const [whole, setWhole] = useState(true);
  // What is wrong with the fields, once somebody tried to record the test.
  const [faults, setFaults] = useState<TestFaults>({});
  const [howMuch, setHowMuch] = useState<HowMuch>();
  const [pressure, setPressure] = useState<PressureHere>();
  /** The test a person is about to judge otherwise than the readings do. */
  const [overruling, setOverruling] = useState<"passed" | "failed" | undefined>();
  const [because, setBecause] = useState<string>();
  const [again, setAgain] = useState(0);
  const byPressure = kind === "leak_test" && method === "pressure_decay";
  // Once a test has passed, the next one that is needed is offered.
  useEffect(() => {
    if (order.required_tests.some((one) => one.kind === kind && one.passed)) choose(open);
  }, [open]);
  const apart = order.findings.filter((one) => !one.struck_reason && (one.disposition === "declined" || one.disposition === "leave_and_watch"));
  const pinned = order.findings.filter((one) => !one.struck_reason);
  const { map } = useOrderMap(order);
  const [picked, setPicked] = useState<MapPlace>();
  const [scope, setScope] = useState("");
  const [gap, setGap] = useState("");
  const [bubbles, setBubbles] = useState("");
  const [more, setMore] = useState<MoreSpot[]>([]);
  // Which of the further spots the next tap on the map names.
  const [moreNow, setMoreNow] = useState<number>();
  const drawing = useMemo(() => (map === undefined ? undefined : withIds(map.drawing, "test-")), [map]);
  // What fails a leak test leaks: that is why it is written down.
  const written = useFindingFields({ family: order.instrument.family, stage: "leak_test", map: map?.map, picked, leaks: kind === "leak_test" ? "yes" : undefined });
  const setSpot = (at: number, change: Partial<MoreSpot>) => setMore(more.map((one, i) => (i === at ? { ...one, ...change } : one)));
  function point(place: MapPlace) {
    const part = place.on === "part" ? map?.map.parts.find((one) => one.id === place.id) : undefined;
    const name = part?.name ?? map?.map.joints.find((one) => one.id === place.id)?.name;
    if (name === undefined) return;
    if (!failing) return setScope(name);
    if (moreNow === undefined) {
      pin("new");
      setPicked(place);
      return;
    }
    const mm = part === undefined || place.point === undefined ? undefined : millimetresAt(part, place.point);
    setSpot(moreNow, { part: name, position_mm: mm === undefined ? null : String(mm) });
  }

  /** Where it fails: a finding, or a new one. The next tap on the map is for that again. */
  function pin(next: string) {
    setWhere(next);
    setMoreNow(undefined);
    if (next === "new") setBegun((now) => ({ ...now, finding: true }));
  }
  /** A number on the map: the finding where it fails, or what the spot in hand is. */
  function pointAtFinding(id: string) {
    const finding = pinned.find((one) => one.id === id);
    if (!failing || finding === undefined) return;
    if (moreNow === undefined) pin(id);
    else setSpot(moreNow, spotAtFinding(finding));
  }

  function clear() {
    setFailing(false);
    setBegun({});
    setFaults({});
    setGap("");
    setBubbles("");
    setUnpinned(false);
    setWhere(undefined);
    setPicked(undefined);
    setMore([]);
    setMoreNow(undefined);
    setHowMuch(undefined);
    setPressure(undefined);
    setOverruling(undefined);
    setBecause(undefined);
    // The fields begin anew, empty.
    setAgain((n) => n + 1);
  }
  /** What the readings say; `undefined` when there are none, or no limit to judge by. */
  const computed = byPressure && pressure?.answer.verdict != null ? VERDICTS[pressure.answer.verdict] : undefined;
  async function save(form: HTMLFormElement, verdict: Verdict, why = because) {
    const note = textIn(form, "test_note");
    const tested = testedPart(kind, whole, scope);
    const failed = verdict === "failed";
    const gap_mm = method === "feeler" ? readDecimal(gap, 3) : undefined;
    const counted = method === "bubbles" && /^\d+$/.test(bubbles.trim()) ? Number(bubbles) : undefined;
    const unplaced = failed && kind === "leak_test" ? spotWithoutPart(more) : undefined;
    const wrong: TestFaults = {
      ...(tested === "missing" ? { scope: true } : {}),
      ...(failed && method === "feeler" && gap.trim() !== "" && gap_mm === undefined ? { gap: true } : {}),
      ...(failed && method === "bubbles" && bubbles.trim() !== "" && counted === undefined ? { bubbles: true } : {}),
      ...(unplaced === undefined ? {} : { spot: unplaced }),
    };
    setFaults(wrong);
    if (tested === "missing" || Object.keys(wrong).length > 0) {
      const around = tested === "missing" ? form.querySelector(".scope") : wrong.gap || wrong.bubbles ? form.querySelector(".counted") : form.querySelectorAll(".more-spot")[unplaced ?? 0];
      around?.querySelector<HTMLElement>("select, input")?.focus();
      return;
    }
    const finding = failing && where === "new" ? written.read(form) : undefined;
    if (failing && where === "new" && finding === undefined) return;
    const where_words = failed ? textIn(form, "where_words") : "";
    const isPinned = !failed || where !== undefined;
    const part = finding?.part ?? order.findings.find((one) => one.id === where)?.part;
    const spots = failed ? spotsOf(kind, part, { how_much: howMuch, gap_mm, bubbles_per_minute: counted }, more) : [];
    setUnpinned(!isPinned);
    if (!isPinned) return;
    await act.run(
      (once) => calls.tests.add(order.id, {
        kind, method,
        // What the readings say themselves is left to the server to say.
        ...(verdict === computed ? {} : { verdict, ...(computed === undefined || why === undefined ? {} : { overruled_because: why }) }),
        ...(byPressure && pressure !== undefined ? { pressure: pressure.body } : {}),
        ...(spots.length === 0 ? {} : { spots }),
        ...tested,
        ...(note === "" ? {} : { note }),
        ...(where_words === "" ? {} : { where_words }),
        ...(!failed ? { apart_from: ticksIn(form, "apart") }
          : finding !== undefined ? { finding }
          : where === undefined ? {} : { finding_id: where }),
      }, once, order.version),
      async () => {
        clear();
        // The next part is another one, so it is asked for.
        setScope("");
        await reload();
      },
    );
  }
  function by(next: TestMethod) {
    setMethod(next);
    setFaults({});
    if (next === "pressure_decay") setBegun((now) => ({ ...now, readings: true }));
  }
  function choose(next: TestKind) {
    if (next === kind) return;
    setKind(next);
    by(methodsFor(next)[0] ?? method);
  }
  return (
    <form class="form" aria-label={words.testsTab.record} onSubmit={(event) => {
      event.preventDefault();
      if (failing) void save(event.currentTarget, "failed");
    }}>
      <h2>{words.testsTab.record}</h2>
      <div class="seg plain" role="radiogroup" aria-label={words.testsTab.kind}>
        {keysOf<TestKind>(words.testKinds).map((one) => (
          <button key={one} type="button" class="btn" role="radio" aria-checked={one === kind} onClick={() => choose(one)}>{words.testKinds[one]}</button>
        ))}
      </div>
      {kind === "leak_test" && (
        <>
          <div class="seg plain" role="radiogroup" aria-label={words.testsTab.how}>
            {methodsFor(kind).map((one) => (
              <button key={one} type="button" class="btn" role="radio" aria-checked={one === method} onClick={() => by(one)}>{words.testMethods[one]}</button>
            ))}
          </div>
          <div class="seg plain" role="radiogroup" aria-label={words.testsTab.scope}>
            <button type="button" class="btn" role="radio" aria-checked={whole} onClick={() => setWhole(true)}>{words.testsTab.whole}</button>
            <button type="button" class="btn" role="radio" aria-checked={!whole} onClick={() => setWhole(false)}>{words.testsTab.part}</button>
          </div>
          {!whole && <div class="scope"><PlaceField map={map?.map} label={words.testsTab.part} value={scope} fault={faults.scope && scope.trim() === "" ? words.testsTab.partNeeded : undefined} onValue={setScope} /></div>}
        </>
      )}
      <Cautions slugs={TEST_CAUTIONS[method]} />
      {drawing !== undefined && (failing || (!whole && kind === "leak_test")) && (
        <PartMapView
          drawing={drawing}
          label={words.map.label(instrumentWords(order.instrument, words.families))}
          pinNow={failing ? where : undefined}
          partNow={failing ? (where === "new" ? picked?.id : undefined) : [...(map?.map.parts ?? []), ...(map?.map.joints ?? [])].find((one) => one.name === scope)?.id}
          onPin={pointAtFinding}
          onPlace={point}
        >{failing ? (moreNow === undefined ? words.testsTab.tapFails : words.testsTab.tapMore(moreNow + 2)) : words.testsTab.tapScope}</PartMapView>
      )}
      {(byPressure || begun.readings) && <div hidden={!byPressure || failing}><PressureReadings key={again} order={order} onTold={setPressure} /></div>}
      {byPressure && failing && pressure !== undefined && <PressureSays answer={pressure.answer} />}
      <TextField key={`note-${again}`} label={words.testsTab.note} name="test_note" />
      {apart.length > 0 && (
        <fieldset key={`apart-${again}`} hidden={failing}>
          <legend>{words.testsTab.apart}</legend>
          <div class="tickbox">
            {apart.map((one) => <Tick key={one.id} name="apart" value={one.id} label={`${one.number}. ${findingWords(one, partWords(order.instrument.family, one.part))}`} />)}
          </div>
        </fieldset>
      )}
      {(failing || begun.failure) && (
        <div class="failure" hidden={!failing} key={`failure-${again}`}>
          <fieldset>
            <legend>{words.testsTab.where}</legend>
            <div class="seg plain" role="radiogroup" aria-label={words.testsTab.where}>
              {pinned.map((one) => (
                <button key={one.id} type="button" class="btn" role="radio" aria-checked={where === one.id} onClick={() => pin(one.id)}>{one.number}. {findingWords(one, partWords(order.instrument.family, one.part))}</button>
              ))}
              <button type="button" class="btn" role="radio" aria-checked={where === "new"} onClick={() => pin("new")}>{words.testsTab.whereNew}</button>
            </div>
            {unpinned && where === undefined && <p class="fault" role="alert">{words.testsTab.whereNeeded}</p>}
          </fieldset>
          <TextField label={words.testsTab.whereWords} name="where_words" />
          {kind === "leak_test" && (
            <div class="seg plain" role="radiogroup" aria-label={words.testsTab.howMuch}>
              {keysOf<HowMuch>(words.testsTab.howMuchWords).map((one) => (
                <button key={one} type="button" class="btn" role="radio" aria-checked={howMuch === one} onClick={() => setHowMuch(howMuch === one ? undefined : one)}>{words.testsTab.howMuchWords[one]}</button>
              ))}
            </div>
          )}
          {kind === "leak_test" && method === "feeler" && <div class="counted"><TextField label={words.testsTab.gap} inputMode="decimal" value={gap} fault={faults.gap ? words.map.badMeasure : undefined} onInput={(event) => setGap(event.currentTarget.value)} /></div>}
          {kind === "leak_test" && method === "bubbles" && <div class="counted"><TextField label={words.testsTab.bubbles} inputMode="numeric" value={bubbles} fault={faults.bubbles ? words.testsTab.badBubbles : undefined} onInput={(event) => setBubbles(event.currentTarget.value)} /></div>}
          {(where === "new" || begun.finding) && <div class="failure" hidden={where !== "new"}>{written.fields}</div>}
          {kind === "leak_test" && (
            <fieldset class="stack">
              <legend class="vh">{words.testsTab.more}</legend>
              {more.map((spot, at) => (
                <div key={at} class="row more-spot" onFocusIn={() => setMoreNow(at)}>
                  <PlaceField map={map?.map} label={words.testsTab.spotAt(at + 2)} value={spot.part} fault={faults.spot === at && spot.part.trim() === "" ? words.findingsTab.partMissing(map !== undefined) : undefined} onValue={(part) => setSpot(at, { part, position_mm: null })} />
                  <div class="seg plain grow" role="radiogroup" aria-label={words.testsTab.howMuchAt(at + 2)}>
                    {keysOf<HowMuch>(words.testsTab.howMuchWords).map((one) => (
                      <button key={one} type="button" class="btn" role="radio" aria-checked={spot.how_much === one} onClick={() => setSpot(at, { how_much: spot.how_much === one ? null : one })}>{words.testsTab.howMuchWords[one]}</button>
                    ))}
                  </div>
                  <button type="button" class="link" aria-label={`${words.quoteTab.remove}, ${words.testsTab.spotAt(at + 2)}`} onClick={() => { setMore(more.filter((_, i) => i !== at)); setMoreNow(undefined); }}>{words.quoteTab.remove}</button>
                </div>
              ))}
              <div><button type="button" class="btn" onClick={() => { setMore([...more, { part: "" }]); setMoreNow(more.length); }}>{words.testsTab.moreAdd}</button></div>
            </fieldset>
          )}
        </div>
      )}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      {failing ? (
        <div class="foot" key="fails">
          <button type="button" class="btn" onClick={() => setFailing(false)}>{words.common.cancel}</button>
          <Button class="btn main" busy={act.busy}>{words.testsTab.failSave}</Button>
        </div>
      ) : (
        <Judge
          computed={computed}
          needsReadings={byPressure && pressure === undefined}
          byPressure={byPressure}
          busy={act.busy}
          overruling={overruling}
          onOverrule={setOverruling}
          onAgain={clear}
          onFail={(why) => {
            setBecause(why);
            setOverruling(undefined);
            setFailing(true);
            setBegun((now) => ({ ...now, failure: true }));
          }}
          onRecord={(form, verdict, why) => void save(form, verdict, why)}
        />
      )}
    </form>
  );
}

/** What is wrong with a test as it was to be recorded; `spot` is the further spot, from 0. */
type TestFaults = { scope?: true; gap?: true; bubbles?: true; spot?: number };

/** A part or a joint of this instrument, in a list; the map beside it points at the same. Without a map it is typed. */
function PlaceField({ map, label, value, fault, onValue }: { map: PartMap | undefined; label: string; value: string; fault: string | undefined; onValue: (name: string) => void }) {
  if (map === undefined) return <TextField label={label} value={value} fault={fault} onInput={(event) => onValue(event.currentTarget.value)} />;
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const [parts, joints] = [there(map.parts), there(map.joints)];
  const options = (of: readonly { id: string; name: string }[]) => of.map((one) => <option key={one.id} value={one.name} selected={one.name === value}>{one.name}</option>);
  // What was typed before the map came, or is told by a finding, stays chosen.
  const isListed = value === "" || [...parts, ...joints].some((one) => one.name === value);
  return (
    <SelectField label={label} value={value} fault={fault} onInput={(event) => onValue(event.currentTarget.value)}>
      <option value="">{words.findingsTab.partChoose}</option>
      {!isListed && <option value={value} selected>{value}</option>}
      <optgroup label={words.map.parts}>{options(parts)}</optgroup>
      <optgroup label={words.map.joints}>{options(joints)}</optgroup>
    </SelectField>
  );
}

const VERDICTS = { pass: "passed", fail: "failed", not_decidable: "not_decidable" } as const;

/**
 * The buttons that judge. Where readings were given, the likely one comes first; a person may judge
 * otherwise and says why. Keyed apart from the form's own button, because one that turned into it
 * would submit by the same click.
 */
function Judge({ computed, needsReadings, byPressure, busy, overruling, onOverrule, onAgain, onFail, onRecord }: {
  computed: Verdict | undefined;
  needsReadings: boolean;
  byPressure: boolean;
  busy: boolean;
  overruling: "passed" | "failed" | undefined;
  onOverrule: (verdict: "passed" | "failed" | undefined) => void;
  onAgain: () => void;
  onFail: (why?: string) => void;
  onRecord: (form: HTMLFormElement, verdict: Verdict, why?: string) => void;
}) {
  const [formHere, setForm] = useState<HTMLFormElement>();
  if (needsReadings) return <p class="quiet" key="readings">{words.testsTab.readingsFirst}</p>;
  if (overruling !== undefined) {
    return (
      <ReasonPicker
        key="overruling"
        title={words.pressure.overrule(words.verdicts[overruling])}
        reasons={words.pressure.overruleReasons}
        busy={busy}
        nested
        onReason={(why) => {
          if (overruling === "failed") onFail(why);
          else if (formHere !== undefined) onRecord(formHere, "passed", why);
        }}
        onLeave={() => onOverrule(undefined)}
      />
    );
  }
  const pass = (event: { currentTarget: HTMLButtonElement }) => {
    const { form } = event.currentTarget;
    if (form === null) return;
    setForm(form);
    if (computed !== undefined && computed !== "passed") onOverrule("passed");
    else onRecord(form, "passed");
  };
  const fail = () => (computed !== undefined && computed !== "failed" ? onOverrule("failed") : onFail());
  const failWords = words.testsTab.fail;
  if (computed === "not_decidable") {
    return (
      <div class="stack" key="undecided">
        <div class="verdicts">
          <button type="button" class="btn bench main" onClick={onAgain}>{words.pressure.again}</button>
          <button type="button" class="btn bench strong" onClick={fail}>{failWords}</button>
        </div>
        <div class="row">
          <Button type="button" class="link" busy={busy} onClick={(event) => {
            const { form } = event.currentTarget;
            if (form !== null) onRecord(form, "not_decidable");
          }}>{words.pressure.keepOpen}</Button>
          <button type="button" class="link" onClick={pass}>{words.testsTab.passAnyway}</button>
        </div>
      </div>
    );
  }
  const strong = (verdict: Verdict) => (!byPressure || computed === undefined ? "btn bench strong" : computed === verdict ? "btn bench main" : "btn bench");
  return (
    <div class="verdicts" key="verdicts">
      <Button type="button" class={strong("passed")} busy={busy} onClick={pass}>{words.testsTab.pass}</Button>
      <button type="button" class={strong("failed")} onClick={fail}>{failWords}</button>
    </div>
  );
}
