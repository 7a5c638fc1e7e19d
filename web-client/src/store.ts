import { computed, signal } from "@preact/signals";
import * as calls from "./api/calls";
import { session } from "./api/line";
import type { Board, Change, Family, Method, PartName, Person, Place, Role, Session, Shop } from "./api/shapes";
import { dateAt } from "./shop/dates";

/** The one store of the page, beside the address bar: what several screens need at once. */

/** The session of whoever is signed in. */
export const signedIn = computed<Session | undefined>(() => (session.value === "asking" ? undefined : session.value));

/** The board as last fetched, and when. */
export const board = signal<{ board: Board; at: Date } | undefined>(undefined);

/** The last change that was told; screens that show the order fetch it again. */
export const lastChange = signal<Change | undefined>(undefined);

/** What the polite live region says. */
export const said = signal("");

/**
 * Photos that did not go through, and whose they are. They are told on every screen, and most screens
 * come without what sends photos.
 */
export const photosNotSent = signal<readonly { order: string; person: string }[]>([]);

/** The instant that running clocks show; moves once a second while a clock is on the screen. */
export const now = signal(new Date());

/** Whether single letters work as keys outside fields. */
export const letterKeys = signal(localStorage.getItem("letter-keys") !== "off");

export function keepLetterKeys(on: boolean): void {
  letterKeys.value = on;
  localStorage.setItem("letter-keys", on ? "on" : "off");
}

/** The shop of whoever is signed in. Screens are only shown to somebody signed in. */
export function shopHere(): Shop {
  const shop = signedIn.value?.shop;
  if (shop === undefined) throw new Error("a screen of the shop is shown to nobody");
  return shop;
}

export function personHere(): Person {
  const person = signedIn.value?.person;
  if (person === undefined) throw new Error("a screen of the shop is shown to nobody");
  return person;
}

/** Whether the person signed in may do what this role may; the proprietor may do it all. */
export function iMay(role: Role): boolean {
  const { roles } = personHere();
  return roles.includes(role) || roles.includes("proprietor");
}

/** Today in the shop's zone. */
export function todayHere(): string {
  return dateAt(new Date(), shopHere().time_zone);
}

/** Lists that hardly ever change while the page is open, fetched once. */
export const parts = signal<ReadonlyMap<Family, PartName[]>>(new Map());
export const methods = signal<Method[]>([]);
/** The methods that are offered for new steps. */
export const offeredMethods = computed<Method[]>(() => methods.value.filter((one) => one.is_offered));
export const places = signal<Place[]>([]);

export async function fetchLists(): Promise<void> {
  const [families, known, where] = await Promise.all([calls.families(), calls.methods(), calls.places()]);
  if (families.kind === "ok") parts.value = new Map(families.value.items.map((one) => [one.family, one.parts]));
  if (known.kind === "ok") methods.value = known.value.items;
  if (where.kind === "ok") places.value = where.value.items;
}

/** How a part is called on the screen; its own name when the list is not there yet. */
export function partWords(family: Family, name: string): string {
  return parts.value.get(family)?.find((part) => part.name === name)?.label ?? name;
}

/** Forgets everything that belongs to whoever was signed in. */
export function forget(): void {
  board.value = undefined;
  lastChange.value = undefined;
  said.value = "";
}
