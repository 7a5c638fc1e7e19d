import { lineDown } from "../api/line";
import { kept, notTaken, sendKept } from "../kept";
import { clockWords } from "../shop/dates";
import { board, shopHere } from "../store";
import { words } from "../words";

/** Says that the line is down, since when, and what is kept meanwhile; nothing while it is up. */
export function LineStrip({ onAgain }: { onAgain: () => void }) {
  const since = lineDown.value;
  if (since === undefined) return <NotTaken />;
  const zone = shopHere().time_zone;
  const shown = board.value?.at ?? since;
  return (
    <div class="offl" role="status">
      <b>{words.line.since(clockWords(since, zone))}</b>
      <span>{words.line.board(clockWords(shown, zone))} {words.line.kept(kept.value.length)}</span>
      <button type="button" class="link" onClick={() => { void sendKept(); onAgain(); }}>{words.line.again}</button>
    </div>
  );
}

/** What was kept while the line was down and then refused: it stays here until somebody has seen it. */
function NotTaken() {
  if (notTaken.value.length === 0) return null;
  const texts = notTaken.value.map(({ entry }) => (entry.kind === "note" ? entry.text : (entry.finding.note ?? words.findings[entry.finding.kind])));
  return (
    <div class="offl" role="alert">
      <b>{words.line.refusedLater(notTaken.value.length, notTaken.value[0]?.why ?? "")}</b>
      <span>{texts.join(" · ")}</span>
      <button type="button" class="link" onClick={() => { notTaken.value = []; }}>{words.line.drop}</button>
    </div>
  );
}
