/** One element of a drawing as the server tells it. */
export type Drawn = { tag: string; attributes?: Record<string, string>; text?: string | null; children?: Drawn[] };

/** Elements that draw, group or say something; none that fetches, runs or embeds. */
const TAGS = new Set(["svg", "g", "path", "polygon", "polyline", "line", "rect", "circle", "ellipse", "text", "tspan", "title", "desc"]);
const ATTRIBUTES = new Set([
  "class", "id", "d", "points", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "dx", "dy", "width", "height",
  "viewBox", "preserveAspectRatio", "transform", "role", "tabindex", "text-anchor", "stroke-width", "stroke-dasharray", "textLength", "text-decoration",
]);

/**
 * A drawing with only what a drawing needs: an unknown element goes with all it holds, an unknown
 * attribute goes alone. What is left cannot fetch, run or style, whatever the server was told.
 */
export function onlyDrawn(element: Drawn): Drawn | undefined {
  if (!TAGS.has(element.tag)) return undefined;
  const attributes = Object.entries(element.attributes ?? {}).filter(([name, value]) => isHarmless(name) && !/url\s*\(/i.test(value));
  return {
    tag: element.tag,
    attributes: Object.fromEntries(attributes),
    ...(element.text == null ? {} : { text: element.text }),
    children: (element.children ?? []).map(onlyDrawn).filter((child) => child !== undefined),
  };
}

function isHarmless(name: string): boolean {
  return ATTRIBUTES.has(name) || /^(data|aria)-[a-z-]+$/.test(name);
}

/**
 * The instrument alone: without what was found on it, what the counter marked, what is written
 * beside it, and what is there to be tapped; a part's name is told where it is chosen, and its measures are the bench's.
 */
export function bare(element: Drawn): Drawn {
  const isPin = ({ attributes }: Drawn) => attributes?.["data-finding"] !== undefined || attributes?.["data-mark"] !== undefined || attributes?.["class"] === "pin leads" || attributes?.["class"] === "hits";
  const isWritten = ({ attributes }: Drawn) => /(^| )lbl( |$)/.test(attributes?.["class"] ?? "");
  const children = (element.children ?? []).filter((child) => !isPin(child) && !isWritten(child));
  return { ...element, children: children.map(bare) };
}

/** The same drawing once more on one page: its ids, and what names them, begin with this. */
export function withIds(element: Drawn, prefix: string): Drawn {
  const { id, "aria-labelledby": by, ...rest } = element.attributes ?? {};
  const attributes = {
    ...rest,
    ...(id === undefined ? {} : { id: prefix + id }),
    ...(by === undefined ? {} : { "aria-labelledby": by.split(" ").map((one) => prefix + one).join(" ") }),
  };
  return { ...element, attributes, children: (element.children ?? []).map((child) => withIds(child, prefix)) };
}

/** Every value of one attribute in the order of the drawing, once each. */
export function valuesOf(drawing: Drawn, attribute: string): string[] {
  const found = new Set<string>();
  const look = (element: Drawn): void => {
    const value = element.attributes?.[attribute];
    if (value !== undefined) found.add(value);
    element.children?.forEach(look);
  };
  look(drawing);
  return [...found];
}
