import { useEffect, useState } from "preact/hooks";

/** Whether a media query holds now. */
export function useMedia(query: string): boolean {
  const [holds, set] = useState(() => matchMedia(query).matches);
  useEffect(() => {
    const ending = new AbortController();
    const list = matchMedia(query);
    set(list.matches);
    list.addEventListener("change", () => set(list.matches), { signal: ending.signal });
    return () => ending.abort();
  }, [query]);
  return holds;
}

/** The height of the window in CSS px. */
export function useWindowHeight(): number {
  const [height, set] = useState(() => window.innerHeight);
  useEffect(() => {
    const ending = new AbortController();
    window.addEventListener("resize", () => set(window.innerHeight), { signal: ending.signal });
    return () => ending.abort();
  }, []);
  return height;
}

/** From here down the board is a list without the chart: its columns would be narrower than a claim number. */
export const AS_LIST = "(max-width: 960px)";
