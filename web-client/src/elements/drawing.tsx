import { h, type VNode } from "preact";
import { useMemo } from "preact/hooks";
import { onlyDrawn, type Drawn } from "../shop/drawing";

/**
 * A drawing of the server, built element by element, so that the strict content policy holds.
 * `classOf` may add a class to an element, going by its attributes.
 */
export function Drawing({ drawing, classOf }: { drawing: Drawn; classOf?: (attributes: Record<string, string>) => string | undefined }) {
  const clean = useMemo(() => onlyDrawn(drawing), [drawing]);
  return clean === undefined ? null : built(clean, classOf, 0);
}

function built(element: Drawn, classOf: ((attributes: Record<string, string>) => string | undefined) | undefined, key: number): VNode {
  const attributes = element.attributes ?? {};
  const more = classOf?.(attributes);
  const all = { ...attributes, key, ...(more === undefined ? {} : { class: attributes["class"] === undefined ? more : `${attributes["class"]} ${more}` }) };
  return h(element.tag, all, element.text ?? null, ...(element.children ?? []).map((child, at) => built(child, classOf, at)));
}
