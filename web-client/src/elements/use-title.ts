import { useEffect } from "preact/hooks";
import { shopHere } from "../store";
import { words } from "../words";

/** Names the page in the window's title. */
export function useTitle(page: string): void {
  useEffect(() => {
    document.title = words.pages.title(page, shopHere().name);
  }, [page]);
}

/** Takes the reader to the main part once, when the screen comes up. */
export function useArrival(): void {
  useEffect(() => {
    if (document.activeElement === null || document.activeElement === document.body || document.activeElement.matches("a, button")) {
      document.querySelector<HTMLElement>("main")?.focus({ preventScroll: true });
    }
  }, []);
}
