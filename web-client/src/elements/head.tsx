import { useLocation } from "preact-iso/router";
import { useRef } from "preact/hooks";
import * as calls from "../api/calls";
import { checkDigitFits, looksLikeClaimNumber } from "../shop/claim-number";
import { personHere, shopHere } from "../store";
import { words } from "../words";
import { useKeys } from "./use-keys";

export type PageName = "board" | "checkIn" | "workOrders" | "evening" | "ring" | "shop";

const PAGES = [
  { name: "board", href: "/" },
  { name: "checkIn", href: "/check-in" },
  { name: "workOrders", href: "/work-orders" },
  { name: "evening", href: "/evening" },
  { name: "ring", href: "/ring-list" },
] as const;

/** The head strip with the pages and the search; on a phone the pages stand at the thumb. */
export function Head({ at, q, onSearch }: { at: PageName; q?: string; onSearch?: (typed: string) => void }) {
  const { route } = useLocation();
  const field = useRef<HTMLInputElement>(null);
  useKeys({
    "/": () => {
      field.current?.focus();
      field.current?.select();
    },
  });

  async function go(event: Event) {
    event.preventDefault();
    const typed = field.current?.value.trim() ?? "";
    if (typed === "") return;
    field.current?.blur();
    // A scanned tag gives the address of its order, a typed one its number.
    const scanned = /\/work-orders\/([^/?#\s]+)/.exec(typed)?.[1];
    const number = scanned ?? ((await isOrder(typed)) ? typed : undefined);
    route(number === undefined ? `/work-orders?q=${encodeURIComponent(typed)}` : `/work-orders/${encodeURIComponent(number)}`);
  }

  return (
    <>
      <a class="skip" href="#main">{words.common.skip}</a>
      <header class="head">
        <a class="mark" href="/" aria-label={shopHere().name}>
          <svg width="22" height="26" viewBox="0 0 22 26" aria-hidden="true" fill="none" stroke-width="2.2" stroke-linecap="round">
            <path d="M4 2v22M18 2v22" />
            <path d="M4 17c7 0 7-8 14-8" />
            <circle cx="4" cy="17" r="2" />
            <circle cx="18" cy="9" r="2" />
          </svg>
          <span class="shopname">{shopHere().name}</span>
        </a>
        <nav aria-label={words.pages.label}>
          {PAGES.map((page) => (
            <a key={page.name} href={page.href} {...(page.name === at ? { "aria-current": "page" } : {})}>{words.pages[page.name]}</a>
          ))}
        </nav>
        <form class="find" role="search" onSubmit={(event) => void go(event)}>
          <input
            ref={field}
            type="search"
            name="q"
            autocomplete="off"
            aria-label={words.search.label}
            placeholder={words.search.placeholder}
            {...(q === undefined ? {} : { value: q })}
            onInput={(event) => onSearch?.(event.currentTarget.value)}
          />
          <kbd aria-hidden="true">/</kbd>
        </form>
        <a class="me" href="/shop" {...(at === "shop" ? { "aria-current": "page" } : {})}>{personHere().name}</a>
      </header>
    </>
  );
}

/** Whether the digits are an order's number: a serial or telephone number looks the same and is searched for. */
async function isOrder(typed: string): Promise<boolean> {
  if (!looksLikeClaimNumber(typed) || !checkDigitFits(typed)) return false;
  const answer = await calls.orders.get(typed);
  // While the line is down nobody knows; the order's own page says so and asks again.
  return answer.kind === "ok" || answer.kind === "away";
}

/** The four buttons at the thumb of a phone. */
export function Thumb({ at }: { at: PageName }) {
  const here = (name: PageName) => (name === at ? { "aria-current": "page" as const } : {});
  return (
    <nav class="thumb" aria-label={words.pages.label}>
      <a href="/" {...here("board")}>{words.pages.board}</a>
      <a href="/check-in" {...here("checkIn")}>{words.pages.checkIn}</a>
      <a href="/work-orders" {...here("workOrders")}>{words.pages.find}</a>
      <a href="/shop" {...here("shop")}>{words.pages.shop}</a>
    </nav>
  );
}
