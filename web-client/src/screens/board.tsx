import { effect, useSignal } from "@preact/signals";
import { Fragment } from "preact";
import { useLocation } from "preact-iso/router";
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { fetchBoard } from "../app";
import { lineDown } from "../api/line";
import type { Board as BoardShape, BoardOrder, PersonRef, Stage, WaitsFor } from "../api/shapes";
import { BoardTag } from "../elements/board-tag";
import { Chip } from "../elements/chip";
import { Head, Thumb } from "../elements/head";
import { LineStrip } from "../elements/line-strip";
import { PhoneLink } from "../elements/phone-link";
import { useKeys } from "../elements/use-keys";
import { useArrival, useTitle } from "../elements/use-title";
import { AS_LIST, useMedia, useWindowHeight } from "../elements/use-window";
import { dayWords, shortDateWords, spanWords } from "../shop/dates";
import { filterInAddress, isForecast, isLikelyLate, passes, readFilter, TURNS, type Filter } from "../shop/filters";
import { bellOf, placeOfDays } from "../shop/bell";
import { byPromise, byWait, fold, RAILS, rowsThatFit, TAG_SIZES, threadsOf, walk, type Spot, type Thread } from "../shop/hanging";
import { columnWords, scaleOf, type Column } from "../shop/scale";
import { board } from "../store";
import { words } from "../words";

/** Head, filters, scale and the tag in hand, in CSS px: what of the window's height is not rails. */
const AROUND_PX = 46 + 40 + 33 + 62;
/** The wooden edge and the space above and below the tags of the shelf. */
const SHELF_PX = 15;
/** So many names, or so many initials, stand beside the filters on a counter's screen. */
const MOST_NAMES = 3;
const MOST_INITIALS = 8;
const ROOMY = "(min-width: 1281px)";
/** How long a pointer rests on a tag before it is taken in hand; less, and crossing tags would change the strip. */
const REST_MS = 160;

/** In one look: which promise is likely to be missed, and who is waiting for whom. */
export function Board() {
  useTitle(words.board.title);
  useArrival();
  const shown = useSteadyBoard();
  const slow = useSlow(shown === undefined);
  useEffect(() => void fetchBoard(), []);
  return (
    <div class="page board">
      <Head at="board" />
      {shown === undefined ? (
        <main id="main" tabIndex={-1}>
          <h1 class="vh">{words.board.title}</h1>
          <LineStrip onAgain={() => void fetchBoard()} />
          {slow && lineDown.value === undefined && <p class="wait" role="status">{words.board.fetching}</p>}
        </main>
      ) : (
        <Rails board={shown} />
      )}
      <Thumb at="board" />
    </div>
  );
}

/** The board as it may be shown: tags do not move under a pressed pointer or while the strip's buttons have focus. */
function useSteadyBoard(): BoardShape | undefined {
  const shown = useSignal(board.peek()?.board);
  useEffect(() => {
    let pressed = false;
    const ending = new AbortController();
    const isBusy = () => pressed || document.activeElement?.closest(".hand") != null;
    const show = () => {
      if (!isBusy() && board.peek() !== undefined) shown.value = board.peek()?.board;
    };
    const stop = effect(() => {
      if (board.value !== undefined) show();
    });
    const options = { signal: ending.signal };
    window.addEventListener("pointerdown", () => { pressed = true; }, options);
    for (const end of ["pointerup", "pointercancel"] as const) {
      window.addEventListener(end, () => { pressed = false; queueMicrotask(show); }, options);
    }
    window.addEventListener("focusout", () => queueMicrotask(show), options);
    return () => {
      stop();
      ending.abort();
    };
  }, []);
  return shown.value;
}

/** True once something has taken a second. */
function useSlow(waiting: boolean): boolean {
  const [slow, set] = useState(false);
  useEffect(() => {
    if (!waiting) return;
    const timer = setTimeout(() => set(true), 1000);
    return () => clearTimeout(timer);
  }, [waiting]);
  return slow && waiting;
}

type Hung = { stage: Stage; rows: number; threads: (Thread & { shown: BoardOrder[]; folded: BoardOrder[] })[]; orders: BoardOrder[] };

function Rails({ board }: { board: BoardShape }) {
  const { query, route } = useLocation();
  const phone = useMedia(AS_LIST);
  const height = useWindowHeight();
  const filter = readFilter(query["show"], board.people);
  const columns = useMemo(() => scaleOf(board.today, board.open_days), [board]);
  const hung = useMemo(() => hang(board.orders.filter((one) => passes(one, filter)), columns, phone ? Infinity : height), [board, query["show"], phone, height]);
  const spots = useMemo(() => spotsOf(hung), [hung]);
  const [handId, setHand] = useState<string | undefined>(undefined);
  const [behind, setBehind] = useState<string | undefined>(undefined);
  const inHand = board.orders.find((one) => one.id === handId) ?? undefined;
  const reach = spots.some((spot) => spot.id === handId) ? handId : spots[0]?.id;
  const rest = useRef<ReturnType<typeof setTimeout>>(undefined);
  const rails = useRef<HTMLElement>(null);
  useTravel(rails, hung, phone);

  const choose = (next: Filter) => {
    const show = filterInAddress(filterInAddress(filter) === filterInAddress(next) ? { kind: "all" } : next);
    setBehind(undefined);
    route(show === "" ? "/" : `/?show=${show}`, true);
  };
  const onHand = (order: BoardOrder, by: "focus" | "pointer" | "away") => {
    clearTimeout(rest.current);
    if (by === "focus") setHand(order.id);
    if (by === "pointer") rest.current = setTimeout(() => setHand(order.id), REST_MS);
  };
  const step = (key: "ArrowLeft" | "ArrowRight" | "ArrowUp" | "ArrowDown") => {
    const focused = document.activeElement?.closest<HTMLElement>("[data-tag]")?.dataset["tag"];
    const next = focused === undefined ? reach : walk(spots, focused, key);
    if (next !== undefined) tagElement(rails.current, next)?.focus();
    return next !== undefined;
  };
  useKeys({
    ArrowLeft: () => step("ArrowLeft"),
    ArrowRight: () => step("ArrowRight"),
    ArrowUp: () => step("ArrowUp"),
    ArrowDown: () => step("ArrowDown"),
    d: () => choose({ kind: "late" }),
    "1": () => choose({ kind: "turn", of: "shop" }),
    "2": () => choose({ kind: "turn", of: "customer" }),
    "3": () => choose({ kind: "turn", of: "supplier" }),
    Enter: () => {
      // On a link or a button the browser knows what to do.
      if (inHand === undefined || document.activeElement?.matches("a, button, summary")) return false;
      route(`/work-orders/${inHand.claim_number}`);
      return true;
    },
    Escape: () => setBehind(undefined),
  });

  const tag = (order: BoardOrder, at?: { column: number; row: number }) => (
    <BoardTag
      key={order.id}
      order={order}
      {...at}
      when={shortDateWords(order.promised_on)}
      inHand={order.id === handId}
      reachable={phone || at === undefined || order.id === reach}
      today={board.today}
      onHand={onHand}
    />
  );

  const [shelf, lines] = [hung.at(-1), hung.slice(0, -1)];
  const empty = board.orders.length === 0;
  return (
    <>
      {lineDown.value === undefined && <FilterBar board={board} filter={filter} onChoose={choose} />}
      <LineStrip onAgain={() => void fetchBoard()} />
      <Scale columns={columns} />
      <main id="main" class="rails" ref={rails} tabIndex={-1} style={{ "--cols": columns.length }}>
        <h1 class="vh">{words.board.title}</h1>
        <div class="hung">
          <div class="lines" aria-hidden="true">
            <div class="past" />
            {columns.map((column, at) => (opensWeek(column) ? <div key={at} class="week" style={{ "--c": at }} /> : null))}
            <div class="plumb" />
          </div>
          {!phone && !empty && <Bell board={board} columns={columns} hung={hung} height={height} />}
          {lines.map((rail, at) => (
            <section key={rail.stage} class="rail" style={{ "--rows": rail.rows }} aria-labelledby={`rail-${rail.stage}`}>
              <RailHead stage={rail.stage} orders={rail.orders} reachDays={board.stages.find((one) => one.stage === rail.stage)?.reach_days ?? undefined} />
              <ol class="hang">
                {empty && <li class="explain">{words.board.explain[rail.stage === "closed" ? "pickup" : rail.stage]}</li>}
                {empty && at === 0 && <FirstTag />}
                {phone ? rail.orders.toSorted(byPromise).map((order) => tag(order)) : rail.threads.map((thread) => {
                  const id = `${rail.stage}-${thread.column}`;
                  const row = thread.shown.length + 1;
                  const open = behind === id;
                  return (
                    <Fragment key={id}>
                      {thread.shown.map((order, i) => tag(order, { column: thread.column + 1, row: i + 1 }))}
                      {thread.folded.length > 0 && (
                        <FoldedTag id={id} stage={rail.stage} thread={thread} row={row} open={open} onToggle={() => setBehind(open ? undefined : id)} />
                      )}
                      {open && thread.folded.length > 0 && (
                        <li
                          class={`behind${thread.column > columns.length - 4 ? " at-end" : ""}${at > 2 ? " up" : ""}`}
                          id={`behind-${id}`}
                          style={{ "--c": thread.column + 1, "--r": row }}
                        >
                          <ol class="stack">{thread.folded.map((order) => tag(order))}</ol>
                        </li>
                      )}
                    </Fragment>
                  );
                })}
              </ol>
            </section>
          ))}
        </div>
        {shelf !== undefined && (
          <section class="rail shelf" style={{ "--rows": shelf.rows }} aria-labelledby="rail-pickup">
            <RailHead stage="pickup" orders={shelf.orders} />
            <ol class="hang">
              {empty && <li class="explain">{words.board.explain.pickup}</li>}
              {shelf.orders.slice(0, shelfFits(shelf, columns.length)).map((order, at) =>
                tag(order, { column: (at % (columns.length - 1)) + 1, row: Math.floor(at / (columns.length - 1)) + 1 }))}
              {shelf.orders.length > shelfFits(shelf, columns.length) && (
                <li class="tag outlined" style={{ "--c": columns.length - 1, "--r": shelf.rows }}>
                  <a href="/work-orders?stage=pickup" aria-label={words.board.foldedSpoken(shelf.orders.length - shelfFits(shelf, columns.length), words.stages.pickup)}>
                    {words.board.folded(shelf.orders.length - shelfFits(shelf, columns.length))}
                  </a>
                </li>
              )}
            </ol>
          </section>
        )}
      </main>
      {empty ? <NothingHangs /> : <Hand order={inHand} nothingShown={spots.length === 0} />}
    </>
  );
}

/** Hangs the orders: a rail each, its threads folded to the rows that fit; the shelf comes last. */
function hang(orders: readonly BoardOrder[], columns: readonly Column[], windowHeight: number): Hung[] {
  const on = (stage: Stage) => orders.filter((order) => order.stage === stage);
  const shelf = on("pickup").toSorted(byWait);
  const perRow = columns.length - 1;
  const shelfRows = windowHeight === Infinity ? Math.ceil(shelf.length / perRow) : Math.min(2, Math.ceil(shelf.length / perRow));
  const shelfHeight = Math.max(1, shelfRows) * (TAG_SIZES.row + TAG_SIZES.gap) + SHELF_PX;
  const threads = RAILS.map((stage) => threadsOf(on(stage), columns));
  const depths = threads.map((rail) => Math.max(0, ...rail.map((thread) => thread.tags.length)));
  const rows = rowsThatFit(depths, windowHeight - AROUND_PX - shelfHeight, TAG_SIZES);
  const rails = RAILS.map((stage, at) => ({
    stage,
    rows: rows[at] ?? 1,
    orders: on(stage),
    threads: (threads[at] ?? []).map((thread) => ({ ...thread, ...fold(thread.tags, rows[at] ?? 1) })),
  }));
  return [...rails, { stage: "pickup" as const, rows: Math.max(1, shelfRows), orders: shelf, threads: [] }];
}

/** How many tags the shelf shows; when there are more, its last place says how many. */
function shelfFits(shelf: Hung, columns: number): number {
  const places = shelf.rows * (columns - 1);
  return shelf.orders.length <= places ? places : places - 1;
}

function spotsOf(hung: readonly Hung[]): Spot[] {
  return hung.flatMap((rail, at) =>
    rail.stage === "pickup"
      ? rail.orders.map((order, i) => ({ id: order.id, rail: at, column: i, row: 0 }))
      : rail.threads.flatMap((thread) => thread.shown.map((order, row) => ({ id: order.id, rail: at, column: thread.column, row }))),
  );
}

function opensWeek(column: Column): boolean {
  return column.kind === "week" || column.kind === "beyond" || (column.kind === "day" && column.opensWeek);
}


function tagElement(rails: HTMLElement | null, id: string): HTMLElement | undefined {
  return rails?.querySelector<HTMLElement>(`[data-tag="${CSS.escape(id)}"] > a`) ?? undefined;
}

/** Lets tags travel to their new place in 250 ms; at once where less motion is wished. */
function useTravel(rails: { current: HTMLElement | null }, hung: unknown, phone: boolean): void {
  const before = useRef(new Map<string, DOMRect>());
  useLayoutEffect(() => {
    const still = phone || matchMedia("(prefers-reduced-motion: reduce)").matches;
    const after = new Map<string, DOMRect>();
    rails.current?.querySelectorAll<HTMLElement>(".hang > [data-tag]").forEach((element) => {
      const id = element.dataset["tag"] ?? "";
      const place = element.getBoundingClientRect();
      const old = before.current.get(id);
      after.set(id, place);
      if (still || old === undefined || (old.x === place.x && old.y === place.y)) return;
      element.animate(
        [{ transform: `translate(${old.x - place.x}px, ${old.y - place.y}px)` }, { transform: "none" }],
        { duration: 250, easing: "ease-out" },
      );
    });
    before.current = after;
  }, [hung, phone]);
}

/** The felt behind the rails: from today to where 17 of 20 orders of each rail were done. */
function Bell({ board, columns, hung, height }: { board: BoardShape; columns: readonly Column[]; hung: readonly Hung[]; height: number }) {
  const drawing = useRef<SVGSVGElement>(null);
  const [rails, setRails] = useState<{ middles: number[]; height: number }>();
  // The rails share what is left of the window's height, so where they hang is known once they do.
  useLayoutEffect(() => {
    const around = drawing.current?.parentElement;
    if (around == null) return;
    const sections = [...around.querySelectorAll<HTMLElement>(":scope > .rail")];
    const next = { middles: sections.map((one) => one.offsetTop + one.offsetHeight / 2), height: around.offsetHeight };
    if (JSON.stringify(next) !== JSON.stringify(rails)) setRails(next);
  }, [hung, height, columns]);
  const reaches = RAILS.flatMap((stage, at) => {
    const days = board.stages.find((one) => one.stage === stage)?.reach_days;
    const y = rails?.middles[at];
    return days == null || y === undefined ? [] : [{ y, x: placeOfDays(columns, board.today, board.open_days, days) }];
  });
  const bell = rails === undefined ? undefined : bellOf(reaches, rails.height);
  // The words stand on the felt where no tag does.
  const isFree = hung[0]?.threads.every((thread) => thread.column < 1 || thread.column > 4) ?? false;
  return (
    <>
      <svg class="bell" ref={drawing} aria-hidden="true" viewBox={`0 0 ${columns.length} ${rails?.height ?? 1}`} preserveAspectRatio="none">
        {bell !== undefined && <path class="felt" d={bell.felt} />}
        {bell !== undefined && <path class="edge" d={bell.edge} />}
      </svg>
      {bell !== undefined && isFree && <p class="bell-words" aria-hidden="true">{words.board.bell}</p>}
    </>
  );
}

function FilterBar({ board, filter, onChoose }: { board: BoardShape; filter: Filter; onChoose: (filter: Filter) => void }) {
  const count = (turn: WaitsFor) => board.orders.filter((order) => order.waits_for === turn).length;
  const forecast = isForecast(board.orders);
  return (
    <section aria-label={words.board.filters}>
      <div class="bar" role="toolbar" aria-label={words.board.filters}>
        <button type="button" aria-pressed={filter.kind === "all"} onClick={() => onChoose({ kind: "all" })}>
          {words.board.all} <b>{board.orders.length}</b>
        </button>
        <button type="button" aria-pressed={filter.kind === "late"} disabled={!forecast} onClick={() => onChoose({ kind: "late" })}>
          <Chip turn="shop" turned={forecast} />
          {words.board.likelyLate}
          {forecast ? <b>{board.orders.filter(isLikelyLate).length}</b> : <span class="quiet k">{words.board.noForecast}</span>}
          {forecast && <span class="quiet k">{words.board.daysLate}</span>}
        </button>
        {TURNS.map((turn) => (
          <button key={turn} type="button" aria-pressed={filter.kind === "turn" && filter.of === turn} onClick={() => onChoose({ kind: "turn", of: turn })}>
            <Chip turn={turn} /> {words.turns[turn]} <b>{count(turn)}</b>
          </button>
        ))}
        <span class="sp k" />
        {board.stages.some((one) => one.reach_kind === "typical") && <span class="quiet k">{words.board.typical}</span>}
        <WhoseFilter people={board.people} filter={filter} onChoose={onChoose} />
      </div>
    </section>
  );
}

/** Whose orders: names where there is room, then initials; a list where even those would not fit. */
function WhoseFilter({ people, filter, onChoose }: { people: readonly PersonRef[]; filter: Filter; onChoose: (filter: Filter) => void }) {
  const wide = useMedia(ROOMY);
  const at = filter.kind === "person" ? filter.id : "";
  if (people.length > (wide ? MOST_INITIALS : MOST_INITIALS / 2)) {
    return (
      <select class="in k whose" aria-label={words.board.whose} value={at} onInput={(event) => {
        const { value } = event.currentTarget;
        onChoose(value === "" ? { kind: "all" } : { kind: "person", id: value });
      }}>
        <option value="">{words.board.everybody}</option>
        {people.map((person) => <option key={person.id} value={person.id} selected={person.id === at}>{person.name}</option>)}
      </select>
    );
  }
  const full = wide && people.length <= MOST_NAMES;
  return (
    <>
      {people.map((person) => (
        <button key={person.id} class="k" type="button" aria-pressed={person.id === at} title={person.name} onClick={() => onChoose({ kind: "person", id: person.id })}>
          <span class={full ? "" : "vh"}>{person.name}</span> <b>{person.initials}</b>
        </button>
      ))}
    </>
  );
}

function Scale({ columns }: { columns: readonly Column[] }) {
  return (
    <div class="scale" aria-hidden="true" style={{ "--cols": columns.length }}>
      <span />
      {columns.map((column, at) => {
        const [first, second] = columnWords(column, words.board);
        return (
          <span key={at} class={column.kind === "today" ? "today" : opensWeek(column) ? "wk" : ""}>
            {first}
            {second !== undefined && <b>{second}</b>}
          </span>
        );
      })}
    </div>
  );
}

function RailHead({ stage, orders, reachDays }: { stage: Stage; orders: readonly BoardOrder[]; reachDays?: number | undefined }) {
  const turns = TURNS.map((turn) => ({ turn, count: orders.filter((order) => order.waits_for === turn).length })).filter((one) => one.count > 0);
  return (
    <div>
      <h2 id={`rail-${stage}`} aria-label={words.board.railSpoken(words.stages[stage], orders.length)}>{words.stages[stage]}</h2>
      <span class="cnt" aria-hidden="true">
        {turns.map(({ turn, count }) => <span key={turn}><Chip turn={turn} />{count}</span>)}
        {stage === "pickup" && orders.length > 0 && <span class="quiet">{words.board.waiting}</span>}
      </span>
      {reachDays !== undefined && <span class="quiet use">{words.board.usually(reachDays)}</span>}
    </div>
  );
}

function FirstTag() {
  return (
    <li class="tag outlined first" style={{ "--c": 9, "--r": 1 }}>
      <i />
      <a href="/check-in"><b>{words.board.first}</b><span class="m short"><kbd>C</kbd></span></a>
    </li>
  );
}

function FoldedTag({ id, stage, thread, row, open, onToggle }: {
  id: string;
  stage: Stage;
  thread: Thread & { folded: BoardOrder[] };
  row: number;
  open: boolean;
  onToggle: () => void;
}) {
  return (
    <li class="tag outlined" style={{ "--c": thread.column + 1, "--r": row }}>
      <i />
      <button
        type="button"
        aria-expanded={open}
        aria-controls={`behind-${id}`}
        aria-label={words.board.foldedSpoken(thread.folded.length, words.stages[stage])}
        onClick={onToggle}
      >
        {words.board.folded(thread.folded.length)}
      </button>
    </li>
  );
}

function NothingHangs() {
  return (
    <aside class="hand">
      <div class="big">{words.board.nothing}</div>
      <p>{words.board.nothingMore}</p>
      <div class="acts"><a class="btn main" href="/check-in">{words.pages.checkIn} <kbd>C</kbd></a></div>
    </aside>
  );
}

/** The strip with the tag in hand: all that the tag itself had to cut. */
function Hand({ order, nothingShown }: { order: BoardOrder | undefined; nothingShown: boolean }) {
  const [rung, setRung] = useState<{ id: string; words: string; phone?: string }>();
  function ring() {
    if (order === undefined) return;
    const phone = order.customer_phone;
    setRung(phone ? { id: order.id, words: words.board.ringing(order.customer_name, phone), phone } : { id: order.id, words: words.board.noPhone(order.customer_name) });
  }
  useKeys({ r: ring });
  if (order === undefined) {
    return <aside class="hand" aria-label={words.board.inHand}><p class="quiet">{nothingShown ? words.board.nothingShown : words.board.hint}</p></aside>;
  }
  const late = isLikelyLate(order);
  return (
    <aside class="hand" aria-label={words.board.inHand}>
      <div class="no big">{order.claim_number}</div>
      <p>
        <span>
          <b>{order.customer_name} · {order.instrument_words}</b> · {words.board.promised(dayWords(order.promised_on))}
          {order.ready_p50 && order.ready_p85 && order.ready_p95 ? `, ${words.board.likelyReady(dayWords(order.ready_p85), spanWords(order.ready_p50, order.ready_p95))}` : ""}
          {order.claimed_by ? ` · ${words.board.claimedBy(order.claimed_by.name)}` : ""}
          {order.place ? ` · ${words.board.at(order.place)}` : ""}
        </span>
        <span>
          <Chip turn={order.waits_for} /> {order.waiting_words}
          {order.held_until ? ` · ${words.board.heldUntil(dayWords(order.held_until))}` : ""}
          {late && <> · <Chip turn="shop" turned /> {words.board.likelyLateBy(order.likely_days_late ?? 0)}</>}
        </span>
      </p>
      <div class="acts">
        {rung?.id === order.id ? (
          <span role="status" class="row">
            {rung.phone === undefined ? rung.words : <PhoneLink class="btn" phone={rung.phone}>{rung.words}</PhoneLink>}
          </span>
        ) : (
          <button type="button" class="btn" onClick={ring}>{words.board.ring} <kbd>R</kbd></button>
        )}
        <a class="btn main" href={`/work-orders/${order.claim_number}`}>{words.board.open} <kbd>Enter</kbd></a>
      </div>
    </aside>
  );
}
