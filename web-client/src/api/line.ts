import { signal } from "@preact/signals";
import { Door } from "./ask";
import type { Session } from "./shapes";

/** Who is signed in; `asking` until the first renewal has been answered, `undefined` when nobody is. */
export const session = signal<Session | "asking" | undefined>("asking");

/** Since when the line is down; `undefined` while it is up. */
export const lineDown = signal<Date | undefined>(undefined);

/** Rises when changes may have been missed: what is on the screen is to be fetched again. */
export const readAnew = signal(0);

/** The one door of this page. */
export const door = new Door(
  (input, init) => fetch(input, init),
  (next) => {
    session.value = next;
  },
  (up) => {
    if (up) lineDown.value = undefined;
    else lineDown.value ??= new Date();
  },
);
