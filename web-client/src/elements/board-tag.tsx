import type { BoardOrder } from "../api/shapes";
import { dateAt, daysBetween, longDayWords } from "../shop/dates";
import { isLikelyLate } from "../shop/filters";
import { nameOnTag } from "../shop/hanging";
import { shopHere } from "../store";
import { words } from "../words";

/** One tag: on the board a mark in its column and row, on a phone a row of the list. */
export function BoardTag({ order, column, row, when, inHand, reachable, today, onHand }: {
  order: BoardOrder;
  /** From 1, as the grid counts; without, the tag lies in a list. */
  column?: number;
  row?: number;
  /** What stands over its column, for the row on a phone. */
  when: string;
  inHand: boolean;
  reachable: boolean;
  today: string;
  onHand: (order: BoardOrder, by: "focus" | "pointer" | "away") => void;
}) {
  const late = isLikelyLate(order) ? (order.likely_days_late ?? 0) : 0;
  const shelf = order.stage === "pickup";
  const waited = daysBetween(dateAt(order.stage_since, shopHere().time_zone), today);
  const mark = shelf
    ? waited > 0 ? words.board.shelfDays(waited) : words.board.isNew
    : late > 0 ? words.board.late(late) : order.held ? words.board.held : (order.claimed_by?.initials ?? "");
  const turn = words.turns[order.waits_for];
  const about = [
    ...(late > 0 ? [words.board.likelyLateBy(late)] : []),
    ...(order.held ? [words.board.held] : []),
    ...(order.claimed_by ? [order.claimed_by.initials] : []),
  ];
  // Heard after the number, the customer and the instrument, which are seen as well.
  const spoken = words.board.spoken([
    "",
    turn.toLowerCase(),
    ...(late > 0 ? [words.board.likelyLateBy(late)] : []),
    ...(order.held ? [words.board.held] : []),
    shelf ? words.board.shelfSpoken(waited) : words.board.promised(longDayWords(order.promised_on)),
    ...(order.claimed_by ? [words.board.claimedBy(order.claimed_by.name)] : []),
  ]);
  return (
    <li
      class={`tag ${order.waits_for}${late > 0 ? " turned" : ""}${inHand ? " in-hand" : ""}`}
      data-tag={order.id}
      data-stage={order.stage}
      {...(column === undefined || row === undefined ? {} : { style: { "--c": column, "--r": row } })}
    >
      {row !== undefined && <i />}
      <a
        href={`/work-orders/${order.claim_number}`}
        tabIndex={reachable ? 0 : -1}
        onFocus={() => onHand(order, "focus")}
        onPointerEnter={(event) => {
          if (event.pointerType === "mouse") onHand(order, "pointer");
        }}
        onPointerLeave={() => onHand(order, "away")}
      >
        {/* What is read or copied as one text keeps its words apart. */}
        <b class="no">{order.claim_number}</b><span class="vh">, </span>
        <span class={mark.length > 2 ? "m short long" : "m short"} aria-hidden="true">{mark}</span>{" "}
        <span class="more d" aria-hidden="true">{shelf ? mark : when}</span>{" "}
        <span class="w">{nameOnTag(order.customer_name)} · {words.families[order.family]}<span class="vh">{spoken}</span></span>{" "}
        <span class="more i" aria-hidden="true">{[turn, ...about].join(" · ")}</span>
      </a>
    </li>
  );
}
