import { effect } from "@preact/signals";
import lazy from "preact-iso/lazy";
import { LocationProvider, Route, Router, useLocation } from "preact-iso/router";
import { useEffect, useState } from "preact/hooks";
import * as calls from "./api/calls";
import type { Answer } from "./api/answer";
import { lineDown, readAnew, session } from "./api/line";
import { KeysList } from "./elements/keys-list";
import { isField, useKeys } from "./elements/use-keys";
import { listen } from "./live";
import { Board } from "./screens/board";
import { SignIn } from "./screens/sign-in";
import { board, fetchLists, forget, lastChange, said, signedIn } from "./store";
import { words } from "./words";

const CheckIn = lazy(() => import("./screens/check-in").then((screen) => screen.CheckIn));
const WorkOrder = lazy(() => import("./screens/work-order").then((screen) => screen.WorkOrder));
const Handover = lazy(() => import("./screens/handover").then((screen) => screen.Handover));
const AtCounter = lazy(() => import("./screens/at-counter").then((screen) => screen.AtCounter));
const Evening = lazy(() => import("./screens/evening").then((screen) => screen.Evening));
const RingList = lazy(() => import("./screens/ring-list").then((screen) => screen.RingList));
const Find = lazy(() => import("./screens/find").then((screen) => screen.Find));
const Shop = lazy(() => import("./screens/shop").then((screen) => screen.ShopScreen));

/** Fetches the board again and keeps it in the store; gives why it could not. */
export async function fetchBoard(): Promise<Exclude<Answer<unknown>, { kind: "ok" }> | undefined> {
  const answer = await calls.board();
  if (answer.kind !== "ok") return answer;
  board.value = { board: answer.value, at: new Date() };
  return undefined;
}

/** Several changes within a moment cost one fetch. */
let soon: ReturnType<typeof setTimeout> | undefined;
function fetchBoardSoon(): void {
  soon ??= setTimeout(() => {
    soon = undefined;
    if (board.value !== undefined) void fetchBoard();
  }, 150);
}

export function App() {
  const here = session.value;
  if (here === "asking") return lineDown.value === undefined ? null : <NoLine />;
  return here === undefined ? <SignIn /> : <Inside key={here.person.id} />;
}

function NoLine() {
  return (
    <main class="door-page">
      <div class="door">
        <p class="name">{words.product}</p>
        <p class="refusal" role="status">{words.signIn.away}</p>
      </div>
    </main>
  );
}

function Inside() {
  const [showsKeys, showKeys] = useState(false);
  useEffect(() => {
    const ending = new AbortController();
    void fetchLists();
    void listen(
      (change) => {
        lastChange.value = change;
        // New dates come all day long; nobody needs to hear of each.
        if (change.kind !== "forecast") said.value = change.claim_number ? `${change.claim_number} ${change.words}` : change.words;
        fetchBoardSoon();
      },
      () => {
        readAnew.value += 1;
        void fetchBoard();
      },
      ending.signal,
    );
    return () => {
      ending.abort();
      forget();
    };
  }, []);
  return (
    <LocationProvider>
      <EverywhereKeys onHelp={() => showKeys(true)} />
      <Router>
        <Route path="/" component={Board} />
        <Route path="/check-in" component={CheckIn} />
        <Route path="/work-orders" component={Find} />
        <Route path="/work-orders/:number/handover" component={Handover} />
        <Route path="/work-orders/:number/done-at-counter" component={AtCounter} />
        <Route path="/work-orders/:number/:part?" component={WorkOrder} />
        <Route path="/evening" component={Evening} />
        <Route path="/ring-list" component={RingList} />
        <Route path="/shop" component={Shop} />
        <Route default component={Board} />
      </Router>
      <p class="vh" role="status" aria-live="polite">{said.value}</p>
      {showsKeys && <KeysList onClose={() => showKeys(false)} />}
    </LocationProvider>
  );
}

function EverywhereKeys({ onHelp }: { onHelp: () => void }) {
  const { route } = useLocation();
  useKeys({
    b: () => route("/"),
    c: () => route("/check-in"),
    "?": onHelp,
    Escape: () => {
      // The board has nothing before it, and in the check-in a digit may follow.
      if (history.length > 1 && location.pathname !== "/" && location.pathname !== "/check-in") history.back();
    },
  });
  useEffect(() => {
    const ending = new AbortController();
    window.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !isField(event.target) || !(event.target instanceof HTMLElement)) return;
      event.target.blur();
      event.preventDefault();
    }, { signal: ending.signal });
    return () => ending.abort();
  }, []);
  return null;
}

/** Tells the browser's own parts of the page in which language it is. */
effect(() => {
  if (signedIn.value !== undefined) document.documentElement.lang = "en";
});
