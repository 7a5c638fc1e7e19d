import type { WaitsFor } from "../api/shapes";

/** A small tag whose end says whose turn it is; the words stand beside it. */
export function Chip({ turn, turned = false }: { turn: WaitsFor; turned?: boolean }) {
  return <span class={`chip ${turn}${turned ? " turned" : ""}`} aria-hidden="true" />;
}
