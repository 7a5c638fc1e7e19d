import { useLocation } from "preact-iso/router";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import type { Operation, WorkOrder as Order } from "../api/shapes";
import * as calls from "../api/calls";
import { Button } from "../elements/button";
import { Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { Papers } from "../elements/papers";
import { PhotoPick } from "../elements/photo-pick";
import { PhotoPostings } from "../elements/photo-postings";
import { RefusalNote } from "../elements/refusal-note";
import { SlipNote } from "../elements/slip-note";
import { useAct } from "../elements/use-act";
import { useKeys } from "../elements/use-keys";
import { useOrder } from "../elements/use-order";
import { useArrival, useTitle } from "../elements/use-title";
import { post } from "../photo-post";
import { keepClock, keepNote, keptStop } from "../kept";
import { checkDigitFits } from "../shop/claim-number";
import { dateAt, dayWords, runningWords } from "../shop/dates";
import { lastFailure, whereItFailed } from "../shop/failed-tests";
import { instrumentWords } from "../shop/instrument";
import { iMay, now, partWords, personHere, shopHere } from "../store";
import { words } from "../words";
import { ExtraAtTest, ExtraWork } from "./work-order/extra-work";
import { Facts } from "./work-order/facts";
import { FindingsPart } from "./work-order/findings";
import { HistoryPart } from "./work-order/history";
import { LettersPart } from "./work-order/letters";
import { Next } from "./work-order/next";
import { PhotosPart } from "./work-order/photos";
import { PutRightButtons, PutRightForm, type PutRight } from "./work-order/put-right";
import { QuotePart } from "./work-order/quote";
import { TestsPart } from "./work-order/tests";
import { WorkPart } from "./work-order/work";

const PARTS = ["findings", "work", "quote", "tests", "photos", "letters", "history"] as const;
type PartName = (typeof PARTS)[number];

/** What every part of the screen gets. */
export type PartProps = { order: Order; reload: () => Promise<void> };

/** Everything of one instrument's visit, for wet or gloved hands at arm's length. */
export function WorkOrder({ number, part }: { number: string; part?: string }) {
  const { order, refusal, reload } = useOrder(number);
  useTitle(words.order.title(order?.claim_number ?? number));
  if (order === undefined) {
    const absent = refusal?.kind === "problem" && refusal.problem.status === 404;
    return (
      <div class="bench page">
        <header class="top">
          <a class="back" href="/" aria-label={words.order.back}>←</a>
          <h1><b class="no">{number}</b></h1>
        </header>
        <main id="main" tabIndex={-1} class="wait">
          <LineStrip onAgain={() => void reload()} />
          {absent ? <><p><b>{words.order.absent(number)}</b></p>{!checkDigitFits(number) && <SlipNote typed={number} />}<p><a href={`/work-orders?q=${encodeURIComponent(number)}`}>{words.order.absentSearch(number)}</a></p></>
            : refusal === undefined ? <p role="status">{words.order.fetching}</p>
            : <RefusalNote refusal={refusal} onReload={() => void reload()} />}
        </main>
        <Thumb at="workOrders" />
      </div>
    );
  }
  return <Opened order={order} reload={reload} part={PARTS.find((one) => one === part) ?? firstPart(order)} />;
}

/** Which part is wanted first where the address names none. */
function firstPart(order: Order): PartName {
  switch (order.stage) {
    case "intake":
    case "diagnosis": return "findings";
    case "approval": return "quote";
    case "bench": return order.findings.some((one) => one.disposition === "undecided" && !one.struck_reason) ? "findings" : "work";
    case "leak_test": return "tests";
    case "pickup":
    case "closed": return "history";
  }
}

function Opened({ order, reload, part }: PartProps & { part: PartName }) {
  useArrival();
  const { route } = useLocation();
  const [over, setOver] = useState<"note" | "extra" | PutRight | undefined>(undefined);
  const path = `/work-orders/${order.claim_number}`;
  const ticks = (one: Operation) => one.running != null && keptStop(one) === undefined;
  const mine = order.operations.find((one) => one.running?.by.id === personHere().id && ticks(one));
  const clock = useAct();
  async function stop(step: Operation) {
    let key = "";
    await clock.run((once) => {
      key = once;
      return calls.operations.time(step.id, "stop", once);
    }, reload);
    if (clock.refusal?.kind !== "away") return;
    keepClock(order, step, "stop", key);
    clock.clear();
  }
  const props = { order, reload };
  const isOpen = order.stage !== "closed";
  useKeys({
    p: () => { if (isOpen) setOver("place"); },
    d: () => { if (isOpen && order.stage !== "pickup" && iMay("front_desk")) setOver("date"); },
  });
  return (
    <div class="bench page">
      <Top order={order} running={mine ?? order.operations.find(ticks)} />
      <nav class="steps" aria-label={words.order.tabs}>
        {PARTS.map((name) => (
          <a key={name} href={`${path}/${name}`} {...(name === part ? { "aria-current": "page" as const } : {})}>
            {words.order.tab[name]} <b>{tabCount(order, name)}</b>
          </a>
        ))}
      </nav>
      <LineStrip onAgain={() => void reload()} photosOf={[order.id]} />
      <PhotoPostings order={order.id} onArrived={() => void reload()} />
      <main id="main" class="bmain" tabIndex={-1}>
        {over !== undefined && (
          <div class="over">
            {over === "note" && <NewNote order={order} reload={reload} onClose={() => setOver(undefined)} />}
            {(over === "place" || over === "date" || over === "words") && <PutRightForm key={over} what={over} {...props} onClose={() => setOver(undefined)} />}
            {over === "extra" && (order.stage === "leak_test" ? <ExtraAtTest path={path} onClose={() => setOver(undefined)} /> : <ExtraWork {...props} onClose={() => setOver(undefined)} />)}
          </div>
        )}
        {part === "findings" ? <FindingsPart {...props}><RefusalNote refusal={clock.refusal} /></FindingsPart> : <section class="part" aria-label={words.order.tab[part]}>
          <RefusalNote refusal={clock.refusal} />
          {part === "work" && <WorkPart {...props} />}
          {part === "quote" && <QuotePart {...props} />}
          {part === "tests" && <TestsPart {...props} />}
          {part === "photos" && <PhotosPart {...props} />}
          {part === "letters" && <LettersPart {...props} />}
          {part === "history" && <HistoryPart {...props} />}
        </section>}
        {order.stage !== "closed" && <aside class="next sheet" aria-label={words.order.next}><Next {...props} part={part} /></aside>}
        <aside class="facts sheet" aria-label={words.order.saidAtCounter}><PutRightButtons order={order} onOpen={setOver} /><Papers order={order} /><Facts order={order} /></aside>
      </main>
      <footer class={order.stage === "closed" ? "bfoot only-note" : "bfoot"}>
        {order.stage === "closed" ? null : mine === undefined ? (
          <a class="btn bench" href={`${path}/work`}>{words.order.foot.start}</a>
        ) : (
          <Button type="button" class="btn bench main" busy={clock.busy} onClick={() => void stop(mine)}>
            {words.order.foot.stop}
          </Button>
        )}
        <PhotoPick class="btn bench" camera onFiles={(files) => post(order.id, files)}>{words.order.foot.photo}</PhotoPick>
        <button type="button" class="btn bench" aria-expanded={over === "note"} onClick={() => setOver(over === "note" ? undefined : "note")}>{words.order.foot.note}</button>
        {order.stage !== "closed" && <a class="btn bench" href={`${path}/tests`}>{words.order.foot.test}</a>}
        {order.stage === "closed" ? null : order.stage === "pickup" ? (
          <a class="btn bench strong" href={`${path}/handover`}>{words.order.foot.handover}</a>
        ) : (
          <button
            type="button"
            class="btn bench strong"
            aria-expanded={over === "extra"}
            onClick={() => {
              // Before the bench nothing is extra yet; from the test the way leads over a test that failed.
              if (order.stage === "bench" || order.stage === "approval" || order.stage === "leak_test") setOver(over === "extra" ? undefined : "extra");
              else {
                // Already open: it is shown, wherever the page was scrolled to.
                document.getElementById("new-finding")?.scrollIntoView({ block: "center" });
                route(`${path}/findings?new=finding`);
              }
            }}
          >
            {order.stage === "intake" || order.stage === "diagnosis" ? words.order.foot.finding : words.order.foot.extra}
          </button>
        )}
      </footer>
    </div>
  );
}

function tabCount(order: Order, name: PartName): string {
  switch (name) {
    case "findings": return String(order.findings.filter((one) => !one.struck_reason).length);
    case "work": {
      const steps = order.operations.filter((one) => one.state !== "struck" && !one.left_out);
      return words.order.tabCount.work(steps.filter((one) => one.state === "done").length, steps.length);
    }
    case "quote": return String(order.quotes.length);
    case "tests":
      return order.required_tests.length === 0
        ? words.order.tabCount.noTests
        : words.order.tabCount.tests(order.required_tests.filter((one) => one.passed).length, order.required_tests.length);
    case "photos": return String(order.photos.filter((one) => !one.struck_reason).length);
    case "letters": return String(order.letters.length);
    case "history": return String(order.stage_changes.length);
  }
}

function Top({ order, running }: { order: Order; running: Operation | undefined }) {
  const stage = words.stages[order.stage];
  return (
    <header class="top">
      <a class="back" href="/" aria-label={words.order.back}>←</a>
      <div>
        <h1><b class="no">{order.claim_number}</b> {instrumentWords(order.instrument, words.families)} · {order.customer.name}</h1>
        <p class="second">
          {order.claimed_by ? words.order.at(stage, order.claimed_by.name) : words.order.unclaimed(stage)}
          {order.stage === "closed"
            ? ` · ${words.order.closedOn(dayWords(dateAt(order.stage_since, shopHere().time_zone)))}`
            : ` · ${words.order.promised(dayWords(order.promised_on))}`}
          {(order.stage === "bench" || order.stage === "leak_test") && failedWords(order).map((one) => ` · ${one}`)}
        </p>
      </div>
      {running?.running ? <Clock since={running.running.since} /> : <span />}
    </header>
  );
}

/** Whoever opens an order that came back from its test sees at once that it did, and where it failed. */
function failedWords(order: Order): string[] {
  return order.required_tests.flatMap(({ kind, passed }) => {
    const test = passed ? undefined : lastFailure(order.tests, kind);
    return test === undefined ? [] : [words.testsTab.failedShort(words.testKinds[kind], whereItFailed(test, order, partWords))];
  });
}

/** The clock of the running step; it goes on at the server whether or not this page is open. */
function Clock({ since }: { since: string }) {
  useEffect(() => {
    now.value = new Date();
    const beat = setInterval(() => { now.value = new Date(); }, 1000);
    return () => clearInterval(beat);
  }, []);
  return <span class="clock" role="timer" aria-label={words.order.clock}>{runningWords(since, now.value)}</span>;
}

function NewNote({ order, reload, onClose }: PartProps & { onClose: () => void }) {
  const act = useAct();
  const [text, setText] = useState("");
  const field = useRef<HTMLTextAreaElement>(null);
  // At once, so that not even the first letter is lost.
  useLayoutEffect(() => field.current?.focus(), []);
  async function save(event: Event) {
    event.preventDefault();
    if (text.trim() === "") return;
    let key = "";
    const done = await act.run((once) => {
      key = once;
      return calls.orders.note(order.id, text.trim(), once);
    });
    if (!done && act.refusal?.kind === "away") {
      keepNote(order.id, text.trim(), key);
      onClose();
    } else if (done) {
      await reload();
      onClose();
    }
  }
  return (
    <form class="form" onSubmit={(event) => void save(event)}>
      <label class="field">
        <span>{words.order.note}</span>
        <textarea class="in" rows={3} ref={field} value={text} onInput={(event) => setText(event.currentTarget.value)} />
      </label>
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy}>{words.order.noteSave}</Button>
      </div>
    </form>
  );
}
