import { useSignalEffect } from "@preact/signals";
import { useRef } from "preact/hooks";
import { again, arrived, leave, postingsOf } from "../photo-post";
import { words } from "../words";

/** The photos of an order that are on their way, and what became of those that did not go through. */
export function PhotoPostings({ order, onArrived }: { order: string; onArrived?: () => void }) {
  const seen = useRef(arrived.peek().count);
  useSignalEffect(() => {
    if (arrived.value.count === seen.current) return;
    seen.current = arrived.value.count;
    if (arrived.value.order === order) onArrived?.();
  });
  const mine = postingsOf(order);
  if (mine.length === 0) return null;
  const going = mine.filter((one) => one.state === "waits" || one.state === "sending").length;
  const stuck = mine.filter((one) => one.state === "away" || typeof one.state === "object");
  return (
    <div class="postings" role="status">
      {going > 0 && <p>{words.photos.sending(going)}</p>}
      {stuck.map((one) => (
        <div key={one.once} class="refusal">
          <p><b>{words.photos.notSent(one.file.name)}</b> {typeof one.state === "object" ? one.state.refused : words.photos.away}</p>
          <div class="row">
            <button type="button" class="btn" onClick={() => again(one)}>{words.photos.again}</button>
            <button type="button" class="link" onClick={() => leave(one)}>{words.photos.leave}</button>
          </div>
        </div>
      ))}
    </div>
  );
}
