import { useEffect, useRef } from "preact/hooks";
import { letterKeys } from "../store";

/** Whether typing goes into a field here, so that a letter is a letter. */
export function isField(target: EventTarget | null): boolean {
  return target instanceof HTMLElement && target.matches("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]");
}

/**
 * Keys that work on a screen outside its fields, by their name (`b`, `/`, `ArrowLeft`).
 * Held modifiers and open dialogs leave them alone; letters can be switched off by the person.
 * A key's work gives `false` to let the browser do its own.
 */
export function useKeys(keys: Record<string, (event: KeyboardEvent) => boolean | void>): void {
  // The work of a key is that of the latest rendering, even when keys follow each other at once.
  const latest = useRef(keys);
  latest.current = keys;
  useEffect(() => {
    const ending = new AbortController();
    window.addEventListener("keydown", (event) => {
      if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || isField(event.target)) return;
      if (document.querySelector("dialog[open]") !== null) return;
      const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
      if (/^[a-z]$/.test(name) && !letterKeys.value) return;
      const work = latest.current[name];
      if (work !== undefined && work(event) !== false) event.preventDefault();
    }, { signal: ending.signal });
    return () => ending.abort();
  }, []);
}
