import { useEffect, useRef, useState } from "preact/hooks";
import type { RefObject } from "preact";

/** How wide an element is, CSS px; a plot drawn to it keeps the size of its lettering. */
export function useWidth<E extends Element>(): [RefObject<E | null>, number] {
  const element = useRef<E>(null);
  const [width, setWidth] = useState(0);
  useEffect(() => {
    if (element.current === null) return;
    const watch = new ResizeObserver(([entry]) => setWidth(Math.round(entry?.contentRect.width ?? 0)));
    watch.observe(element.current);
    return () => watch.disconnect();
  }, []);
  return [element, width];
}
