import { useEffect, useRef } from "preact/hooks";
import { readAnew } from "../api/line";

/** Fetches again what a screen shows, whenever it may have missed a change. Not when it comes up. */
export function useReadAnew(fetchAgain: () => void): void {
  const seen = useRef(readAnew.peek());
  const now = readAnew.value;
  useEffect(() => {
    if (now === seen.current) return;
    seen.current = now;
    fetchAgain();
  }, [now]);
}
