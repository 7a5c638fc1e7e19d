import { Fragment } from "preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Finding, Quote, WorkOrder } from "../../api/shapes";
import { Button } from "../../elements/button";
import { findingWords, useFindingFields } from "../../elements/finding-form";
import { draftOf, OperationFields, readDraft as readStep } from "../../elements/operation-form";
import { PartMapView, type MapPlace } from "../../elements/part-map";
import { PhotoPick } from "../../elements/photo-pick";
import { PhotoStrip, seen } from "../../elements/photo-strip";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct } from "../../elements/use-act";
import { useOrderMap } from "../../elements/use-order-map";
import { post } from "../../photo-post";
import { withIds } from "../../shop/drawing";
import { instrumentWords } from "../../shop/instrument";
import { moneyWords } from "../../shop/money";
import { newerDraft, readDraft, stepsWithoutLine } from "../../shop/quote-draft";
import { partWords, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";
import { QuoteDraft } from "./quote";

/** Extra work in three steps on one page: what was found, what it takes, ask the owner. */
export function ExtraWork({ order, reload, onClose }: PartProps & { onClose: () => void }) {
  const [finding, setFinding] = useState<string>();
  const [step, setStep] = useState<string>();
  const [sent, setSent] = useState<string>();
  const place = useRef<HTMLElement>(null);
  const quote = order.quotes.find((one) => one.state === "draft");
  const out = order.quotes.find((one) => one.id === sent);
  const known = order.findings.find((one) => one.id === finding);
  const operation = order.operations.find((one) => one.id === step);
  const stands = operation !== undefined ? 3 : known !== undefined ? 2 : 1;
  // It opens over a long page, and each step takes the place of the button that led to it.
  useEffect(() => {
    place.current?.scrollIntoView({ block: "start" });
    place.current?.querySelector<HTMLElement>(`.three-steps > :nth-child(${stands}) :is(button, select, input, textarea, a)`)?.focus({ preventScroll: true });
  }, [stands]);
  return (
    <section class="form" aria-label={words.extra.title} ref={place}>
      <div class="row">
        <h2 class="grow">{words.extra.title}</h2>
        <button type="button" class="link" onClick={onClose}>{words.common.close}</button>
      </div>
      <p class="quiet">{words.extra.lead}</p>
      <ol class="three-steps">
        <li>
          <h3>1. {words.extra.steps[0]}</h3>
          {known === undefined ? <WhatWasFound order={order} reload={reload} onFound={setFinding} /> : <p>{known.number}. {findingWords(known, partWords(order.instrument.family, known.part))}</p>}
        </li>
        <li class={known === undefined ? "later" : ""}>
          <h3>2. {words.extra.steps[1]}</h3>
          {known !== undefined && operation === undefined && <PhotosOf order={order} finding={known} />}
          {known !== undefined && operation === undefined && <WhatItTakes order={order} reload={reload} finding={known.id} onStep={setStep} />}
          {operation !== undefined && <p>{operation.number}. {operation.title}, {moneyWords(operation.price)}</p>}
        </li>
        <li class={operation === undefined ? "later" : ""}>
          <h3>3. {words.extra.steps[2]}</h3>
          {sent !== undefined ? <p role="status"><b>{out === undefined ? words.extra.done : outWords(out)}</b></p> : quote !== undefined && operation !== undefined && (
            <>
              <p>{words.extra.against(moneyWords(quote.totals?.total ?? quote.total_with_optional), moneyWords(order.authorised))}</p>
              <QuoteDraft key={quote.id} quote={quote} order={order} reload={reload} folded onSent={() => setSent(quote.id)} />
            </>
          )}
        </li>
      </ol>
    </section>
  );
}

/**
 * Extra work wanted while the instrument is tested: why not yet, and the way to it. It stays open over
 * the tests, and once the test that failed has brought the instrument back to the bench, the three
 * steps stand in its place.
 */
export function ExtraAtTest({ path, onClose }: { path: string; onClose: () => void }) {
  const place = useRef<HTMLElement>(null);
  useEffect(() => {
    place.current?.scrollIntoView({ block: "start" });
    place.current?.querySelector<HTMLElement>("a")?.focus({ preventScroll: true });
  }, []);
  return (
    <section class="form" aria-label={words.extra.title} ref={place}>
      <div class="row">
        <h2 class="grow">{words.extra.title}</h2>
        <button type="button" class="link" onClick={onClose}>{words.common.close}</button>
      </div>
      <p>{words.extra.atTest}</p>
      <div class="row"><a class="btn main" href={`${path}/tests`}>{words.extra.toTests}</a></div>
    </section>
  );
}

/** The photos that the owner is shown with the question. */
function PhotosOf({ order, finding }: { order: WorkOrder; finding: Finding }) {
  const pictures = order.photos.filter((one) => one.finding_id === finding.id && one.shared).flatMap((one) => seen(one, findingWords(finding, partWords(order.instrument.family, finding.part))));
  return (
    <div class="row">
      <PhotoPick camera onFiles={(files) => post(order.id, files, { finding_id: finding.id, shared: true })}>{words.photos.ofFindingShared}</PhotoPick>
      <PhotoStrip photos={pictures} />
    </div>
  );
}

/** Where the question stands that went out from here. */
function outWords({ decision, state }: Quote): string {
  if (decision != null && decision.disputed_at == null) return words.extra.answered(decision.typed_name, words.answers[decision.answer].toLowerCase());
  return state === "sent" ? words.extra.done : words.quoteStates[state];
}

function WhatWasFound({ order, reload, onFound }: PartProps & { onFound: (id: string) => void }) {
  const act = useAct();
  const { map } = useOrderMap(order);
  const [picked, setPicked] = useState<MapPlace>();
  const [round, setRound] = useState(0);
  const drawing = useMemo(() => (map === undefined ? undefined : withIds(map.drawing, "extra-")), [map]);
  const written = useFindingFields({ family: order.instrument.family, stage: order.stage, map: map?.map, picked });
  const open = order.findings.filter((one) => !one.struck_reason && (one.disposition === "undecided" || one.disposition === "repair") && !order.operations.some((step) => step.finding_ids.includes(one.id)));
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const finding = written.read(event.currentTarget);
    if (finding === undefined) return;
    let found: Finding | undefined;
    await act.run((once) => calls.findings.add(order.id, finding, once), (added) => {
      found = added;
    });
    if (found === undefined) return;
    // It is on the order now, whatever becomes of the decision: it is not written twice.
    setRound(round + 1);
    setPicked(undefined);
    await repair(found);
  }
  /** What is asked as extra work is to be repaired; a suggestion against it stays with the record. */
  async function repair(found: Finding) {
    const against = found.suggestion.disposition !== "repair" && found.suggestion.disposition !== "undecided";
    const edit = { disposition: "repair" as const, ...(against ? { disposition_reason: words.extra.reason } : {}) };
    const done = await act.run(() => calls.findings.edit(found.id, edit, found.version));
    await reload();
    if (done) onFound(found.id);
  }
  return (
    <>
      {open.length > 0 && (
        <>
          <p>{words.extra.leadFinding}</p>
          <div class="seg">
            {open.map((one) => (
              <Button key={one.id} type="button" class="btn" busy={act.busy} onClick={() => (one.disposition === "repair" ? onFound(one.id) : void repair(one))}>
                <span class={`key ${one.disposition}`} aria-hidden="true" /> {one.number}. {findingWords(one, partWords(order.instrument.family, one.part))}
              </Button>
            ))}
          </div>
          <p>{words.extra.orNew}</p>
        </>
      )}
      <form class="stack form" onSubmit={(event) => void save(event)}>
        {drawing !== undefined && (
          <PartMapView drawing={drawing} label={words.map.label(instrumentWords(order.instrument, words.families))} partNow={picked?.id} onPlace={setPicked}>{words.map.tap}</PartMapView>
        )}
        <Fragment key={round}>{written.fields}</Fragment>
        <RefusalNote refusal={act.refusal} />
        <div class="foot"><Button class="btn main" busy={act.busy}>{words.extra.goOn}</Button></div>
      </form>
    </>
  );
}

function WhatItTakes({ order, reload, finding, onStep }: PartProps & { finding: string; onStep: (id: string) => void }) {
  const act = useAct();
  const [draft, setDraft] = useState(() => draftOf(undefined, [finding]));
  const [wrong, setWrong] = useState<"title" | "minutes" | "price">();
  const tax = shopHere().tax_classes[0]?.id ?? "";
  async function save() {
    const read = readStep(draft);
    if ("wrong" in read) return setWrong(read.wrong);
    setWrong(undefined);
    await act.run((once) => calls.operations.add(order.id, read.step, once), async (added) => {
      await quoteIt(added.id);
      await reload();
      onStep(added.id);
    });
  }
  /** The new version begins with what is accepted already and adds what is on no line yet. */
  async function quoteIt(id: string) {
    const fresh = await calls.orders.get(order.claim_number);
    if (fresh.kind !== "ok" || fresh.value.quotes.some((one) => one.state === "draft")) return;
    const accepted = fresh.value.quotes.findLast((one) => one.decision?.answer === "accepted" && !one.decision.disputed_at);
    const added = stepsWithoutLine(fresh.value.operations, accepted?.lines ?? []).filter((one) => one.id === id || one.waits_for_answer);
    const read = readDraft(newerDraft(accepted, added, tax), shopHere().currency);
    if ("quote" in read) await calls.quotes.draft(order.id, read.quote, crypto.randomUUID());
  }
  return (
    <form class="stack" onSubmit={(event) => {
      event.preventDefault();
      void save();
    }}>
      <OperationFields order={order} draft={draft} onDraft={setDraft} wrong={wrong} />
      <RefusalNote refusal={act.refusal} />
      <div class="foot row"><Button class="btn main" busy={act.busy}>{words.extra.goOn}</Button></div>
    </form>
  );
}
