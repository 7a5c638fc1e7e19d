import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { TestKind, TestMethod } from "../../api/shapes";
import { FindingFields, findingWords, readFinding } from "../../elements/finding-form";
import { keysOf, TextField, textIn, Tick, ticksIn } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct } from "../../elements/use-act";
import { momentWords } from "../../shop/dates";
import { partWords, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

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
              <li key={one.kind} class={one.passed ? "passed" : ""}>{words.testKinds[one.kind]}: {one.passed ? words.testsTab.passed : words.testsTab.open}</li>
            ))}
          </ul>
        )}
      </div>
      {order.stage === "leak_test" ? <NewTestForm order={order} reload={reload} />
        : order.stage !== "closed" && order.stage !== "pickup" && <p class="sheet">{words.testsTab.notInTest}</p>}
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
    </>
  );
}

function methodsFor(kind: TestKind): TestMethod[] {
  const all = keysOf<TestMethod>(words.testMethods);
  // A pressure test is its readings; this form has no place for them.
  return kind === "play_test" ? ["played"] : all.filter((method) => method !== "played" && method !== "pressure_decay");
}

function NewTestForm({ order, reload }: PartProps) {
  const act = useAct();
  const open = order.required_tests.find((one) => !one.passed)?.kind ?? "leak_test";
  const [kind, setKind] = useState<TestKind>(open);
  const [method, setMethod] = useState<TestMethod>(methodsFor(open)[0] ?? "finger_and_blow");
  const [failing, setFailing] = useState(false);
  const [where, setWhere] = useState<string>();
  const [unpinned, setUnpinned] = useState(false);
  const [whole, setWhole] = useState(true);
  // Once a test has passed, the next one that is needed is offered.
  useEffect(() => {
    if (order.required_tests.some((one) => one.kind === kind && one.passed)) choose(open);
  }, [open]);
  const apart = order.findings.filter((one) => !one.struck_reason && (one.disposition === "declined" || one.disposition === "leave_and_watch"));
  const pinned = order.findings.filter((one) => !one.struck_reason);

  async function save(form: HTMLFormElement, verdict: "passed" | "failed") {
    const note = textIn(form, "test_note");
    const scope = whole ? words.testsTab.whole.toLowerCase() : textIn(form, "scope");
    const finding = failing && where === "new" ? readFinding(form) : undefined;
    const where_words = textIn(form, "where_words");
    const isPinned = verdict === "passed" || where !== undefined;
    setUnpinned(!isPinned);
    if (!isPinned) return;
    await act.run(
      (once) => calls.tests.add(order.id, {
        kind, method, verdict,
        ...(scope === "" ? {} : { scope }),
        ...(note === "" ? {} : { note }),
        ...(where_words === "" ? {} : { where_words }),
        ...(verdict === "passed" ? { apart_from: ticksIn(form, "apart") }
          : finding !== undefined ? { finding }
          : where === undefined ? {} : { finding_id: where }),
      }, once),
      async () => {
        setFailing(false);
        setWhere(undefined);
        form.reset();
        await reload();
      },
    );
  }
  function choose(next: TestKind) {
    setKind(next);
    setMethod(methodsFor(next)[0] ?? method);
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
              <button key={one} type="button" class="btn" role="radio" aria-checked={one === method} onClick={() => setMethod(one)}>{words.testMethods[one]}</button>
            ))}
          </div>
          <div class="seg plain" role="radiogroup" aria-label={words.testsTab.scope}>
            <button type="button" class="btn" role="radio" aria-checked={whole} onClick={() => setWhole(true)}>{words.testsTab.whole}</button>
            <button type="button" class="btn" role="radio" aria-checked={!whole} onClick={() => setWhole(false)}>{words.testsTab.part}</button>
          </div>
          {!whole && <TextField label={words.testsTab.part} name="scope" />}
        </>
      )}
      <TextField label={words.testsTab.note} name="test_note" />
      {apart.length > 0 && !failing && (
        <fieldset>
          <legend>{words.testsTab.apart}</legend>
          <div class="tickbox">
            {apart.map((one) => <Tick key={one.id} name="apart" value={one.id} label={`${one.number}. ${findingWords(one, partWords(order.instrument.family, one.part))}`} />)}
          </div>
        </fieldset>
      )}
      {failing && (
        <>
          <fieldset>
            <legend>{words.testsTab.where}</legend>
            <div class="seg plain" role="radiogroup" aria-label={words.testsTab.where}>
              {pinned.map((one) => (
                <button key={one.id} type="button" class="btn" role="radio" aria-checked={where === one.id} onClick={() => setWhere(one.id)}>{one.number}. {findingWords(one, partWords(order.instrument.family, one.part))}</button>
              ))}
              <button type="button" class="btn" role="radio" aria-checked={where === "new"} onClick={() => setWhere("new")}>{words.testsTab.whereNew}</button>
            </div>
            {unpinned && where === undefined && <p class="fault" role="alert">{words.testsTab.whereNeeded}</p>}
          </fieldset>
          <TextField label={words.testsTab.whereWords} name="where_words" />
          {where === "new" && <FindingFields family={order.instrument.family} stage="leak_test" />}
        </>
      )}
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      {failing ? (
        <div class="foot" key="fails">
          <button type="button" class="btn" onClick={() => setFailing(false)}>{words.common.cancel}</button>
          <button class="btn main" disabled={act.busy}>{words.testsTab.failSave}</button>
        </div>
      ) : (
        // Keyed apart: a button that turned into the one that submits would submit by the same click.
        <div class="verdicts" key="verdicts">
          <button type="button" class="btn bench strong" disabled={act.busy} onClick={(event) => {
            const { form } = event.currentTarget;
            if (form !== null) void save(form, "passed");
          }}>
            {words.testsTab.pass}
          </button>
          <button type="button" class="btn bench strong" onClick={() => setFailing(true)}>{words.testsTab.fail}</button>
        </div>
      )}
    </form>
  );
}
