import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Letter } from "../../api/shapes";
import { Button } from "../../elements/button";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct } from "../../elements/use-act";
import { momentWords } from "../../shop/dates";
import { shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";
import { CallsMade } from "./calls-made";

/** What was written to the customer, and how it fared. */
export function LettersPart({ order, reload }: PartProps) {
  return <>{order.letters.length === 0 ? <div class="sheet">{words.lettersTab.none}</div> : <ol class="entries">{order.letters.toReversed().map((letter) => <LetterLine key={letter.id} letter={letter} reload={reload} />)}</ol>}<CallsMade order={order} /></>;
}

function LetterLine({ letter, reload }: { letter: Letter; reload: () => Promise<void> }) {
  const act = useAct();
  const [text, setText] = useState<string>();
  const when = (instant: string) => momentWords(instant, shopHere().time_zone, new Date());
  const trouble = letter.state === "bounced" || letter.state === "given_up" || letter.state === "unknown";
  const about = [
    letter.to_email ? words.lettersTab.to(letter.to_name, letter.to_email) : words.lettersTab.toNobody(letter.to_name),
    letter.sent_at ? words.lettersTab.sentAt(when(letter.sent_at)) : words.lettersTab.queued(when(letter.queued_at)),
    ...(letter.attempts > 1 ? [words.lettersTab.attempts(letter.attempts)] : []),
    ...(letter.next_try_at && letter.state === "waiting" ? [words.lettersTab.nextTry(when(letter.next_try_at))] : []),
  ];
  return (
    <li>
      <span class="grow">
        <b>{letter.subject}</b> · {trouble ? <b>{words.letterStates[letter.state]}</b> : words.letterStates[letter.state]}
        {letter.state_reason ?? letter.last_trouble ? `: ${letter.state_reason ?? letter.last_trouble}` : ""}
        <br /><span class="quiet">{about.join(" · ")}</span>
      </span>
      <button type="button" class="btn" aria-expanded={text !== undefined} onClick={() => (text === undefined ? void act.run(() => calls.letters.get(letter.id), (whole) => setText(whole.text)) : setText(undefined))}>
        {text === undefined ? words.lettersTab.read : words.common.close}
      </button>
      {letter.state !== "sending" && letter.state !== "waiting" && letter.to_email && (
        <Button type="button" class="btn" busy={act.busy} onClick={() => void act.run((once) => calls.letters.again(letter.id, once), reload)}>{words.lettersTab.again}</Button>
      )}
      {text !== undefined && <pre>{text}</pre>}
      <RefusalNote refusal={act.refusal} />
    </li>
  );
}
