import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { RingLine } from "../api/shapes";
import { PhoneLink } from "../elements/phone-link";
import { CallNote } from "../elements/call-note";
import { Head, Thumb } from "../elements/head";
import { isOneOf } from "../elements/form";
import { LineStrip } from "../elements/line-strip";
import { RefusalNote } from "../elements/refusal-note";
import type { Refusal } from "../elements/use-act";
import { useReadAnew } from "../elements/use-read-anew";
import { useArrival, useTitle } from "../elements/use-title";
import { dayWords, momentWords } from "../shop/dates";
import { peopleToRing } from "../shop/ring-list";
import { lastChange, shopHere } from "../store";
import { words } from "../words";
import { ring } from "../words/en-ring";

/** Whom to telephone and why, most pressing first. Nothing is decided here: an answer is recorded on the order's quote. */
export function RingList() {
  useTitle(ring.title);
  useArrival();
  const [lines, setLines] = useState<readonly RingLine[]>();
  const [refusal, setRefusal] = useState<Refusal>();
  const [noted, setNoted] = useState("");
  async function fetchList() {
    const answer = await calls.ring.list();
    if (answer.kind === "ok") setLines(answer.value.lines);
    setRefusal(answer.kind === "ok" ? undefined : answer);
  }
  const change = lastChange.value;
  useEffect(() => {
    // A forecast changes nobody's reason to be rung.
    if (change?.kind !== "forecast") void fetchList();
  }, [change]);
  useReadAnew(() => void fetchList());
  return (
    <div class="page plain-page">
      <Head at="ring" />
      <LineStrip onAgain={() => void fetchList()} />
      <main id="main" tabIndex={-1}>
        <h1>{lines === undefined ? ring.title : ring.heading(peopleToRing(lines))}</h1>
        <p class="quiet">{ring.what}</p>
        <p role="status">{noted}</p>
        <RefusalNote refusal={refusal} onReload={() => void fetchList()} />
        {lines === undefined && refusal === undefined && <p class="quiet">{words.common.fetching}</p>}
        {lines?.length === 0 && <p class="sheet">{ring.nobody}</p>}
        <ol class="ring-list">
          {lines?.map((line) => (
            <Line key={`${line.work_order_id} ${line.customer_id}`} line={line} onNoted={(said) => {
              setNoted(said);
              void fetchList();
            }} />
          ))}
        </ol>
      </main>
      <Thumb at="ring" />
    </div>
  );
}

/** What is to be told, in the shop's words; a kind that has none is told by its subject. */
function told(kind: string, subject: string): string {
  return isOneOf(ring.tell, kind) ? ring.tell[kind] : subject;
}

const ASKS: ReadonlySet<string> = new Set(["quote_sent", "extra_work", "newer_quote", "answer_reminder", "answer_again", "acceptance_disputed"]);

function Line({ line, onNoted }: { line: RingLine; onNoted: (said: string) => void }) {
  const zone = shopHere().time_zone;
  const when = (instant: string) => momentWords(instant, zone, new Date());
  const order = `/work-orders/${line.claim_number}`;
  const [newest, ...older] = line.letters;
  // Of several letters that ask for the same answer the newest says it; what is told twice is told once.
  const also = new Set(older.filter((one) => newest === undefined || !(ASKS.has(newest.kind) && ASKS.has(one.kind))).map((one) => told(one.kind, one.subject)));
  if (newest !== undefined) also.delete(told(newest.kind, newest.subject));
  return (
    <li class="sheet">
      <div class="whom">
        <h2>{line.customer_name}</h2>
        <p>
          <a class="no" href={order}>{line.claim_number}</a> {line.instrument_words} · {words.stages[line.stage]} · {words.order.promised(dayWords(line.promised_on))}
        </p>
        {newest !== undefined && <p><b>{told(newest.kind, newest.subject)}</b></p>}
        {also.size > 0 && <p class="quiet">{ring.also([...also])}</p>}
        <p class="quiet">
          {ring.since(when(line.since))}{newest !== undefined && newest.state !== "not_wanted" ? ` · ${ring.cameBack}` : ""}
          {line.last_call ? ` · ${ring.calls(line.calls_count)}: ${ring.call(ring.outcomes[line.last_call.outcome].toLowerCase(), when(line.last_call.at), line.last_call.by.name)}${line.last_call.words ? `, “${line.last_call.words}”` : ""}` : ""}
        </p>
      </div>
      <div class="ring-acts">
        {line.customer_phone
          ? <PhoneLink class="btn main number" phone={line.customer_phone}>{words.evening.ring(line.customer_phone)}</PhoneLink>
          : <p class="heed">{ring.noNumber}</p>}
        {line.stage === "approval" && line.is_owner && <a class="btn" href={`${order}/quote?say=answer`}>{ring.answer}</a>}
        <CallNote order={line.work_order_id} whom={{ id: line.customer_id, name: line.customer_name }} onNoted={onNoted} />
      </div>
    </li>
  );
}
