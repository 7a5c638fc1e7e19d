import { lineDown } from "../api/line";
import { dropNotTaken, kept, keptWords, notTaken, sendKept } from "../kept";
import { clockWords } from "../shop/dates";
import { board, personHere, photosNotSent, shopHere } from "../store";
import { words } from "../words";

/**
 * Says that the line is down, since when, and what is kept meanwhile; nothing while it is up but what
 * did not go through. `photosOf`: orders whose photos this screen speaks of itself.
 */
export function LineStrip({ onAgain, photosOf = [] }: { onAgain: () => void; photosOf?: readonly string[] }) {
  const since = lineDown.value;
  const mine = kept.value.filter((one) => one.person === personHere().id);
  if (since === undefined) {
    return (
      <>
        {mine.length > 0 && <div class="offl" role="status"><span>{words.line.sending(mine.length)}</span><button type="button" class="link" onClick={() => void sendKept()}>{words.line.again}</button></div>}
        <NotTaken />
        <PhotosNotSent but={photosOf} />
      </>
    );
  }
  const zone = shopHere().time_zone;
  const shown = board.value?.at ?? since;
  return (
    <div class="offl" role="status">
      <b>{words.line.since(clockWords(since, zone))}</b>
      <span>{words.line.board(clockWords(shown, zone))} {words.line.kept(mine.length)}{mine.some((one) => one.kind === "clock") ? ` ${words.line.keptClock}` : ""}</span>
      <button type="button" class="link" onClick={() => { void sendKept(); onAgain(); }}>{words.line.again}</button>
    </div>
  );
}

/** What was kept while the line was down and then refused: it stays here until somebody has seen it. */
function NotTaken() {
  const mine = notTaken.value.filter(({ entry }) => entry.person === personHere().id);
  if (mine.length === 0) return null;
  return (
    <div class="offl" role="alert">
      <b>{words.line.refusedLater(mine.length)}</b>
      <ul>{mine.map(({ entry, why }) => <li key={entry.once}>{words.line.refusedOne(keptWords(entry), why)}</li>)}</ul>
      <button type="button" class="link" onClick={dropNotTaken}>{words.line.drop}</button>
    </div>
  );
}

/** Photos that were not sent, wherever somebody has gone meanwhile: their order says why. */
function PhotosNotSent({ but }: { but: readonly string[] }) {
  const stuck = photosNotSent.value.filter((one) => one.person === personHere().id && !but.includes(one.order));
  const orders = [...new Set(stuck.map((one) => one.order))];
  if (orders.length === 0) return null;
  return (
    <div class="offl" role="alert">
      {orders.map((order) => (
        <span key={order}>
          <b>{words.photos.stuck(stuck.filter((one) => one.order === order).length, board.value?.board.orders.find((one) => one.id === order)?.claim_number)}</b>{" "}
          <a href={`/work-orders/${order}`}>{words.photos.stuckLook}</a>
        </span>
      ))}
    </div>
  );
}
