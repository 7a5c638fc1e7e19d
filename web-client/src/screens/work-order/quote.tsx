import { useSignalEffect } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useLocation } from "preact-iso/router";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import { lineDown } from "../../api/line";
import type { OwnersAnswer, Quote } from "../../api/shapes";
import { Button } from "../../elements/button";
import { isOneOf, keysOf, Options, SelectField, TextField, AreaField, textIn, ticksIn, Tick } from "../../elements/form";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct } from "../../elements/use-act";
import { dropUnsaved, saverOf, unsavedOn } from "../../quote-savers";
import { dayWords, momentWords } from "../../shop/dates";
import { isZero, moneyWords } from "../../shop/money";
import { emptyLine, lineOfMethod, lineOfOperation, newerDraft, readDraft, stepsWithoutLine, type Draft, type DraftFault, type DraftLine } from "../../shop/quote-draft";
import { iMay, offeredMethods, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

/** The quote's versions: the draft being written, the one that is out, and those before. */
export function QuotePart({ order, reload }: PartProps) {
  const act = useAct();
  const draft = order.quotes.find((quote) => quote.state === "draft");
  const rest = order.quotes.filter((quote) => quote.state !== "draft").toReversed();
  const [current, ...earlier] = rest;
  const tax = shopHere().tax_classes[0]?.id ?? "";
  const accepted = order.quotes.some((quote) => quote.decision?.answer === "accepted" && !quote.decision.disputed_at);

  /**
   * A new version begins with what the one before said, and the steps that are on none yet. Lines
   * keep their ids: by them the server knows what stands already.
   */
  function begin() {
    const read = readDraft(newerDraft(current, stepsWithoutLine(order.operations, current?.lines ?? []), tax), shopHere().currency);
    if ("faults" in read) return act.run(() => Promise.resolve({ kind: "problem" as const, problem: { type: "no-lines", title: words.quoteTab.needsLine, status: 422 } }));
    return act.run((once) => calls.quotes.draft(order.id, read.quote, once), reload);
  }

  // A quote goes out of the examination, again while it is out, and from the bench as extra work.
  const mayWrite = order.stage === "bench" ? iMay("technician") : (order.stage === "diagnosis" || order.stage === "approval") && (iMay("technician") || iMay("front_desk"));
  return (
    <>
      {draft === undefined && order.quotes.length === 0 && <div class="sheet"><b>{words.quoteTab.none}</b> {words.quoteTab.noneMore}</div>}
      {draft === undefined && mayWrite && (
        <Button type="button" class={order.quotes.length === 0 ? "btn main" : "btn"} busy={act.busy} onClick={() => void begin()}>
          {order.quotes.length === 0 ? words.quoteTab.begin : accepted ? words.quoteTab.beginExtra : words.quoteTab.newer}
        </Button>
      )}
      <RefusalNote refusal={act.refusal} />
      {draft !== undefined && <QuoteDraft key={draft.id} quote={draft} order={order} reload={reload} />}
      {current !== undefined && <QuoteSheet quote={current} order={order} reload={reload} current />}
      {earlier.length > 0 && (
        <details>
          <summary>{words.quoteTab.earlier}</summary>
          <div class="stack">{earlier.map((quote) => <QuoteSheet key={quote.id} quote={quote} order={order} reload={reload} current={false} />)}</div>
        </details>
      )}
    </>
  );
}

/** The draft being written. It saves itself, so that the total shown is the server's. */
export function QuoteDraft({ quote, order, reload, onSent, folded = false }: PartProps & { quote: Quote; onSent?: () => void; folded?: boolean }) {
  const shop = shopHere();
  const saver = useMemo(() => saverOf(quote), [quote.id]);
  const [draft, saved, state, faults] = [saver.draft.value, saver.saved.value, saver.state.value, saver.faults.value];
  const change = (next: Draft) => saver.change(next);
  const sending = useAct();
  useEffect(() => {
    saver.onSaved = reload;
  }, [saver, reload]);
  useEffect(() => saver.adopt(quote), [saver, quote.version]);
  // A tab or the page may be left before the draft has come to rest.
  useEffect(() => {
    const ending = new AbortController();
    window.addEventListener("pagehide", () => void saver.save(), { signal: ending.signal });
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "hidden") void saver.save();
    }, { signal: ending.signal });
    return () => {
      ending.abort();
      void saver.save();
    };
  }, [saver]);
  useSignalEffect(() => {
    if (lineDown.value === undefined && saver.refusal.peek()?.kind === "away") void saver.save();
  });
  /** Somebody else wrote on the same draft: theirs is shown, as they left it. */
  async function takeTheirs() {
    const answer = await calls.orders.get(order.claim_number);
    const theirs = answer.kind === "ok" ? answer.value.quotes.find((one) => one.id === quote.id) : undefined;
    if (theirs !== undefined) saver.take(theirs);
    await reload();
  }

  const line = (at: number, edit: Partial<DraftLine>) => change({ ...draft, lines: draft.lines.map((one, i) => (i === at ? { ...one, ...edit } : one)) });
  const faultOf = (at: number | undefined, field: DraftFault["field"]) => faults.some((fault) => fault.line === at && fault.field === field);
  const tax = shop.tax_classes[0]?.id ?? "";
  const open = stepsWithoutLine(order.operations, draft.lines);
  const isSaved = state === "saved";
  return (
    <section class="quote current" aria-label={words.quoteTab.title(quote.number, quote.is_extra)}>
      <header>
        <h2>{words.quoteTab.title(quote.number, quote.is_extra)}</h2>
        <span class="state" role="status">{words.quoteTab.draft} · {state === "saving" ? words.quoteTab.saving : isSaved ? words.quoteTab.saved : ""}</span>
      </header>
      {unsavedOn(saved, saver.by).map((one) => (
        <div key={one.by} class="heed row" role="status">
          <span class="grow">{words.quoteTab.kept(momentWords(new Date(one.at).toISOString(), shop.time_zone, new Date()))}</span>
          <button type="button" class="btn" onClick={() => saver.goOn(one.by, one.draft)}>{words.quoteTab.keptGoOn}</button>
          <button type="button" class="link" onClick={() => dropUnsaved(one.by)}>{words.quoteTab.keptDrop}</button>
        </div>
      ))}
      <Folded when={folded} title={words.quoteTab.fewLines(draft.lines.length)}>
      <ol>
        {draft.lines.map((one, at) => (
          <li key={one.key} class="draft-line">
            <TextField label={`${words.quoteTab.line(at + 1)}: ${words.quoteTab.text}`} hideLabel value={one.text} placeholder={words.quoteTab.text} fault={faultOf(at, "text") ? words.common.required : undefined} onInput={(event) => line(at, { text: event.currentTarget.value })} />
            <TextField label={`${words.quoteTab.line(at + 1)}: ${words.quoteTab.quantity}`} hideLabel class="num" inputMode="decimal" value={one.quantity} fault={faultOf(at, "quantity") ? "?" : undefined} onInput={(event) => line(at, { quantity: event.currentTarget.value })} />
            <TextField label={`${words.quoteTab.line(at + 1)}: ${words.quoteTab.price}`} hideLabel class="num" inputMode="decimal" value={one.price} placeholder="0.00" fault={faultOf(at, "price") ? "?" : undefined} onInput={(event) => line(at, { price: event.currentTarget.value })} />
            <div class="rest">
              <select class="in" aria-label={`${words.quoteTab.line(at + 1)}: ${words.quoteTab.kind}`} value={one.kind} onInput={(event) => {
                const { value } = event.currentTarget;
                if (isOneOf(words.lineKinds, value)) line(at, { kind: value });
              }}>
                <Options of={words.lineKinds} chosen={one.kind} />
              </select>
              {shop.tax_classes.length > 1 && (
                <select class="in" aria-label={`${words.quoteTab.line(at + 1)}: ${words.quoteTab.tax}`} value={one.tax_class} onInput={(event) => line(at, { tax_class: event.currentTarget.value })}>
                  {shop.tax_classes.map((of) => <option key={of.id} value={of.id} selected={of.id === one.tax_class}>{words.quoteTab.percent(of.percent)}</option>)}
                </select>
              )}
              <Tick label={words.quoteTab.optional} checked={one.optional} onInput={(event) => line(at, { optional: event.currentTarget.checked })} />
              {one.irreversible && <span>{words.workTab.irreversibleWords}</span>}
              <button type="button" class="link" aria-label={`${words.quoteTab.remove}, ${words.quoteTab.line(at + 1)}`} onClick={() => change({ ...draft, lines: draft.lines.filter((_, i) => i !== at) })}>{words.quoteTab.remove}</button>
              <span class="amount">{isSaved && one.quantity !== "1" ? lineAmount(saved, at) : ""}</span>
            </div>
          </li>
        ))}
      </ol>
      {faultOf(undefined, "lines") && <p class="fault">{words.quoteTab.needsLine}</p>}
      <div class="row">
        <button type="button" class="btn" onClick={() => change({ ...draft, lines: [...draft.lines, emptyLine(tax)] })}>{words.quoteTab.addLine}</button>
        {open.length > 0 && <button type="button" class="btn" onClick={() => change({ ...draft, lines: [...draft.lines, ...open.map((step) => lineOfOperation(step, tax))] })}>{words.quoteTab.addStep} ({open.length})</button>}
        <select class="in grow" aria-label={words.quoteTab.addMethod} value="" onInput={(event) => {
          const method = offeredMethods.value.find((of) => of.id === event.currentTarget.value);
          event.currentTarget.value = "";
          if (method !== undefined) change({ ...draft, lines: [...draft.lines, lineOfMethod(method, tax)] });
        }}>
          <option value="">{words.quoteTab.addMethod}</option>
          {offeredMethods.value.map((method) => <option key={method.id} value={method.id}>{method.name}</option>)}
        </select>
      </div>
      </Folded>
      <TotalsTable quote={saved} dim={!isSaved} />
      <div class="form">
        <div class="cols">
          <div class="in-unit">
            <TextField label={words.quoteTab.discount} class="num" inputMode="decimal" value={draft.off} fault={!faultOf(undefined, "off") ? undefined : draft.off_in === "percent" ? "0–100" : words.checkIn.noAmount(shop.currency)} onInput={(event) => change({ ...draft, off: event.currentTarget.value })} />
            <SelectField label={words.quoteTab.discountIn} hideLabel value={draft.off_in} onInput={(event) => change({ ...draft, off_in: event.currentTarget.value === "money" ? "money" : "percent" })}>
              <Options of={{ percent: "%", money: shop.currency }} chosen={draft.off_in} />
            </SelectField>
          </div>
          <TextField label={words.quoteTab.limit} class="num" inputMode="decimal" value={draft.limit} fault={faultOf(undefined, "limit") ? words.checkIn.noAmount(shop.currency) : undefined} onInput={(event) => change({ ...draft, limit: event.currentTarget.value })} />
          <TextField label={words.quoteTab.expires} type="date" value={draft.expires_on} onInput={(event) => change({ ...draft, expires_on: event.currentTarget.value })} />
        </div>
        <p class="quiet">{words.quoteTab.limitHelp}</p>
        {saved.range != null && <p class="heed">{rangeWords(saved)}</p>}
        {saved.suggested_limit != null && (
          <p class="row">
            <span class="grow">{words.quoteTab.suggestedLimit(moneyWords(saved.suggested_limit))}</span>
            <button type="button" class="btn" onClick={() => { if (saved.suggested_limit != null) change({ ...draft, limit: saved.suggested_limit.amount }); }}>{words.quoteTab.takeLimit}</button>
          </p>
        )}
        <AreaField label={words.quoteTab.message} rows={3} value={draft.message} onInput={(event) => change({ ...draft, message: event.currentTarget.value })} />
      </div>
      <RefusalNote refusal={saver.refusal.value} title={words.quoteTab.notSaved} onReload={() => void takeTheirs()} />
      <RefusalNote refusal={sending.refusal} onReload={() => void reload().then(sending.clear)} />
      <div class="row">
        <Button type="button" class="link" busy={sending.busy} onClick={() => void sending.run(() => calls.quotes.drop(quote.id, saver.version), () => {
          saver.close();
          return reload();
        })}>{words.quoteTab.drop}</Button>
        <span class="grow" />
        <Button type="button" class="btn bench main" busy={sending.busy} disabled={!isSaved} onClick={() => void sending.run((once) => calls.quotes.send(quote.id, once, order.version), async () => {
          saver.close();
          await reload();
          onSent?.();
        })}>
          {order.owner.email ? words.quoteTab.sendTo(order.owner.name, totalWords(saved)) : words.quoteTab.sendNoMail(order.owner.name)}
        </Button>
      </div>
    </section>
  );
}

/** Lines that were quoted before need not stand in the way of sending the one that is new. */
function Folded({ when, title, children }: { when: boolean; title: string; children: ComponentChildren }) {
  return when ? <details><summary>{title}</summary>{children}</details> : <>{children}</>;
}

/** What one line comes to. Totals count the lines that are not optional, in their order. */
function lineAmount(quote: Quote, at: number): string {
  const line = quote.lines[at];
  if (line === undefined) return "";
  const counted = quote.lines.slice(0, at).filter((one) => !one.optional).length;
  const total = line.optional ? undefined : quote.totals?.lines[counted];
  if (total !== undefined) return moneyWords(total.amount);
  const each = moneyWords({ amount: line.unit_price, currency: quote.limit.currency });
  return line.quantity === "1" ? each : words.quoteTab.times(line.quantity, each);
}

/** What may still turn up, with what it rests on. */
function rangeWords({ range, limit: { currency } }: Quote): string {
  if (range == null) return "";
  // That nothing turns up is said already.
  const costs = ([[50, range.cost_p50], [85, range.cost_p85], [95, range.cost_p95]] as const)
    .map(([share, amount]) => [share, { amount, currency }] as const)
    .filter(([share, money]) => share > range.none_of_hundred && !isZero(money))
    .map(([share, money]): [number, string] => [share, moneyWords(money)]);
  return words.quoteTab.range(range.none_of_hundred, costs, range.kind === "typical" ? undefined : { all: range.orders_count, alike: range.alike_count });
}

function totalWords(quote: Quote): string {
  return moneyWords(quote.totals?.total ?? { amount: "0", currency: quote.limit.currency });
}

function TotalsTable({ quote, dim }: { quote: Quote; dim: boolean }) {
  if (dim) return <p class="quiet right">{words.quoteTab.unsaved}</p>;
  return (
    <table class="bill">
      <tbody>
        <TotalsRows quote={quote} />
      </tbody>
    </table>
  );
}

function TotalsRows({ quote: { totals, lines, total_with_optional }, span = 1 }: { quote: Quote; span?: number }) {
  // Without a line that counts there is nothing to add up.
  if (totals == null) return null;
  const taxed = totals.tax_classes.filter((one) => !isZero(one.tax));
  const percent = (id: string) => shopHere().tax_classes.find((one) => one.id === id)?.percent ?? id;
  return (
    <>
      {taxed.length > 0 && <tr class="sum"><td colSpan={span}>{words.quoteTab.net}</td><td class="amount">{moneyWords(totals.net)}</td></tr>}
      {taxed.map((one) => (
        <tr key={one.id} class="sum"><td colSpan={span}>{words.quoteTab.taxOf(percent(one.id))}</td><td class="amount">{moneyWords(one.tax)}</td></tr>
      ))}
      <tr class="sum total"><td colSpan={span}>{words.quoteTab.total}</td><td class="amount">{moneyWords(totals.total)}</td></tr>
      {lines.some((line) => line.optional) && <tr class="sum"><td colSpan={span}>{words.quoteTab.withOptional}</td><td class="amount">{moneyWords(total_with_optional)}</td></tr>}
    </>
  );
}

/** A version that went out: what it said, and what the owner answered. */
function QuoteSheet({ quote, order, reload, current }: PartProps & { quote: Quote; current: boolean }) {
  const { query } = useLocation();
  const asked = !current ? undefined : query["say"] === "mistake" ? "dispute" : query["say"] === "answer" ? "answer" : undefined;
  const [open, setOpen] = useState<"answer" | "dispute" | undefined>(asked);
  const act = useAct();
  useEffect(() => {
    if (asked !== undefined) setOpen(asked);
  }, [asked]);
  const zone = shopHere().time_zone;
  const when = (instant: string) => momentWords(instant, zone, new Date());
  const { decision } = quote;
  const isOpen = current && quote.state === "sent" && (decision == null || decision.answer === "questions" || decision.disputed_at != null) && order.stage !== "closed";
  const answers = order.moves.filter((move) => move.act === "decide");
  const mayAnswer = isOpen && (answers.some((move) => move.may) || answers.length === 0) && iMay("front_desk");
  const mayDispute = current && decision?.answer === "accepted" && !decision.disputed_at && order.moves.some((move) => move.because === "acceptance_disputed" && move.may);
  const about = [
    ...(quote.sent_at ? [words.quoteTab.sent(when(quote.sent_at), quote.sent_by?.name ?? "")] : []),
    ...(quote.state === "sent" && !decision ? [quote.seen_at ? words.quoteTab.seen(when(quote.seen_at)) : words.quoteTab.notSeen] : []),
    ...(quote.expires_on && quote.state === "sent" ? [words.quoteTab.validUntil(dayWords(quote.expires_on))] : []),
  ];
  return (
    <section class={current ? "quote current" : "quote"} aria-label={words.quoteTab.title(quote.number, quote.is_extra)}>
      <header>
        <h2>{words.quoteTab.title(quote.number, quote.is_extra)}</h2>
        <span class="quiet">{about.join(" · ")}</span>
        <span class="state">{decision ? words.answers[decision.answer] : words.quoteStates[quote.state]}</span>
      </header>
      {quote.state === "struck" && quote.struck_reason && <p>{words.quoteTab.struck(quote.struck_reason)}</p>}
      {quote.message && <p class="heed">{quote.message}</p>}
      <table class="bill">
        <thead>
          <tr><th>{words.quoteTab.text}</th><th class="amount">{words.quoteTab.quantity}</th><th class="amount">{words.quoteTab.amount}</th></tr>
        </thead>
        <tbody>
          {quote.lines.map((line, at) => (
            <tr key={line.id}>
              <td>
                {line.is_new && <span class="new">{words.quoteTab.isNew}</span>} {line.text}
                {line.optional || line.irreversible ? <span class="quiet"> · {[...(line.optional ? [words.quoteTab.optionalWords] : []), ...(line.irreversible ? [words.workTab.irreversibleWords] : [])].join(" · ")}</span> : null}
              </td>
              <td class="amount">{line.quantity}</td>
              <td class="amount">{lineAmount(quote, at)}</td>
            </tr>
          ))}
          <TotalsRows quote={quote} span={2} />
        </tbody>
      </table>
      {/* Without room beyond its lines the limit is them; an optional one counts once it is ticked. */}
      {quote.lines.some((line) => line.optional) && quote.limit.amount === quote.total_with_optional.amount
        ? <p>{words.quoteTab.limit} <b>{totalWords(quote)}</b>, {words.quoteTab.andTicked}</p>
        : <p>{words.quoteTab.limit} <b>{moneyWords(quote.limit)}</b></p>}
      {quote.range != null && <p class="quiet">{rangeWords(quote)}</p>}
      {decision && (
        <div class="heed">
          <b>{words.quoteTab.decided(words.answers[decision.answer], words.answerHow[decision.how], decision.typed_name, when(decision.decided_at))}</b>
          {decision.recorded_by ? ` · ${words.quoteTab.recordedBy(decision.recorded_by.name)}` : ""}
          {decision.question ? <p><q>{decision.question}</q></p> : null}
          {decision.disputed_at ? <p>{words.quoteTab.disputed(when(decision.disputed_at))}</p> : null}
        </div>
      )}
      {mayAnswer && open === undefined && <button type="button" class="btn bench main" onClick={() => setOpen("answer")}>{words.quoteTab.record}</button>}
      {mayAnswer && open === "answer" && <AnswerForm quote={quote} reload={reload} onClose={() => setOpen(undefined)} />}
      {isOpen && !iMay("front_desk") && <p class="quiet">{words.quoteTab.recordDesk}</p>}
      {mayDispute && open === undefined && (
        <button type="button" class="link" onClick={() => setOpen("dispute")}>{words.quoteTab.dispute}</button>
      )}
      {mayDispute && open === "dispute" && decision && (
        <ReasonPicker
          title={words.quoteTab.disputeReason}
          reasons={words.quoteTab.disputeReasons}
          busy={act.busy}
          onReason={(reason) => void act.run((once) => calls.quotes.dispute(decision.id, { typed_name: decision.typed_name, reason }, once), async () => {
            setOpen(undefined);
            await reload();
          })}
          onLeave={() => setOpen(undefined)}
        />
      )}
      <RefusalNote refusal={act.refusal} />
    </section>
  );
}

/** An answer given by telephone or at the counter. Nothing is preselected; a name is typed first. */
function AnswerForm({ quote, reload, onClose }: { quote: Quote; reload: () => Promise<void>; onClose: () => void }) {
  const act = useAct();
  const [how, setHow] = useState<"phone" | "in_person">();
  const [missing, setMissing] = useState<{ how: boolean; name: boolean; question: boolean }>();
  const form = useRef<HTMLFormElement>(null);
  const optional = quote.lines.filter((line) => line.optional);
  const byName = quote.lines.filter((line) => line.irreversible && !line.optional && line.operation_id != null);
  async function record(answer: OwnersAnswer) {
    if (form.current === null) return;
    const [typed_name, question] = [textIn(form.current, "typed_name"), textIn(form.current, "question")];
    const lacks = { how: how === undefined, name: typed_name === "", question: answer === "questions" && question === "" };
    setMissing(lacks);
    if (how === undefined || lacks.name || lacks.question) return;
    const chosen = ticksIn(form.current, "chosen");
    const chosenSteps = quote.lines.filter((line) => line.irreversible && line.operation_id != null && chosen.includes(line.id)).map((line) => line.operation_id ?? "");
    await act.run(
      (once) => calls.quotes.decide(quote.id, {
        quote_version: quote.number,
        content_hash: quote.content_hash ?? "",
        answer, how, typed_name,
        chosen_lines: answer === "accepted" ? chosen : [],
        accepted_by_name: answer === "accepted" && form.current !== null ? [...ticksIn(form.current, "by_name"), ...chosenSteps] : [],
        ...(answer === "questions" ? { question } : {}),
      }, once),
      async () => {
        onClose();
        await reload();
      },
    );
  }
  return (
    <form class="form" ref={form} aria-label={words.quoteTab.recordTitle} onSubmit={(event) => event.preventDefault()}>
      <h3>{words.quoteTab.recordTitle}</h3>
      <div class="seg plain" role="radiogroup" aria-label={words.quoteTab.how}>
        <button type="button" class="btn" role="radio" aria-checked={how === "phone"} onClick={() => setHow("phone")}>{words.quoteTab.howPhone}</button>
        <button type="button" class="btn" role="radio" aria-checked={how === "in_person"} onClick={() => setHow("in_person")}>{words.quoteTab.howInPerson}</button>
      </div>
      {missing?.how && how === undefined && <p class="fault">{words.quoteTab.howMissing}</p>}
      <TextField label={words.quoteTab.name} name="typed_name" fault={missing?.name ? words.quoteTab.nameMissing : undefined} />
      {optional.length > 0 && (
        <fieldset>
          <legend>{words.quoteTab.choose}</legend>
          {optional.map((line) => <Tick key={line.id} name="chosen" value={line.id} label={`${line.text}, ${moneyWords({ amount: line.unit_price, currency: quote.limit.currency })}${line.irreversible ? ` · ${words.workTab.irreversibleWords}` : ""}`} />)}
        </fieldset>
      )}
      {byName.length > 0 && (
        <fieldset>
          <legend>{words.quoteTab.byName}</legend>
          {byName.map((line) => <Tick key={line.id} name="by_name" value={line.operation_id ?? ""} label={line.text} />)}
        </fieldset>
      )}
      <TextField label={words.quoteTab.question} name="question" fault={missing?.question ? words.quoteTab.questionMissing : undefined} />
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      <div class="seg plain">
        {keysOf<OwnersAnswer>(words.answers).map((answer) => (
          <Button key={answer} type="button" class="btn strong" busy={act.busy} onClick={() => void record(answer)}>
            {answer === "accepted" ? words.quoteTab.accept(totalWords(quote)) : answer === "declined" ? words.quoteTab.decline : words.quoteTab.ask}
          </Button>
        ))}
      </div>
      <button type="button" class="link" onClick={onClose}>{words.common.cancel}</button>
    </form>
  );
}
