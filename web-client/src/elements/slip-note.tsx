import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { checkDigitFits, looksLikeClaimNumber, oneSlipAway, writtenClaimNumber } from "../shop/claim-number";
import { words } from "../words";

/** So many likely slips are looked up; a number of five digits has five or six. */
const MOST_SLIPS = 8;

/**
 * What is wrong with digits that may have been meant as a claim number: its check digit does not fit,
 * or no order has it. Orders that are one slip away stand beside it.
 */
export function SlipNote({ typed }: { typed: string }) {
  const [near, setNear] = useState<{ of: string; numbers: string[] }>();
  useEffect(() => {
    const ending = new AbortController();
    const wanted = oneSlipAway(typed).slice(0, MOST_SLIPS);
    void Promise.all(wanted.map((number) => calls.orders.list({ q: number, limit: 3 }, ending.signal))).then((answers) => {
      if (ending.signal.aborted) return;
      setNear({ of: typed, numbers: wanted.filter((number, at) => {
        const answer = answers[at];
        return answer?.kind === "ok" && answer.value.items.some((order) => order.claim_number === number);
      }) });
    });
    return () => ending.abort();
  }, [typed]);
  if (!looksLikeClaimNumber(typed)) return null;
  const numbers = near?.of === typed ? near.numbers : [];
  return (
    <p class="heed" role="status">
      {checkDigitFits(typed) ? words.find.noSuchNumber(writtenClaimNumber(typed)) : words.find.slip(writtenClaimNumber(typed))}
      {numbers.length > 0 && <> {words.find.near} {numbers.map((number, at) => <span key={number}>{at > 0 && ", "}<a class="no" href={`/work-orders/${number}`}>{number}</a></span>)}.</>}
    </p>
  );
}
