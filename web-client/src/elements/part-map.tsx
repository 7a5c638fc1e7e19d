import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import type { Drawn } from "../shop/drawing";
import type { Point } from "../shop/part-line";
import { words } from "../words";
import { Drawing } from "./drawing";

/** A part or a joint of the map, by its id, and the point of the sheet where it was pointed at. */
export type MapPlace = { on: "part" | "joint"; id: string; point?: Point | undefined };

/** Where on its sheet a drawing was pointed at. */
export function pointOnSheet(svg: SVGSVGElement | null | undefined, { clientX, clientY }: MouseEvent): Point | undefined {
  const inverse = svg?.getScreenCTM()?.inverse();
  if (inverse === undefined) return undefined;
  const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(inverse);
  return { x, y };
}

const ZOOMS = [1, 1.5, 2, 3];

/**
 * An instrument's part map: every pin is a button, every part and joint can be pointed at. What it
 * shows stands in words beside it, so nothing is lost to whoever does not see it.
 */
export function PartMapView({ drawing, label, pinNow, partNow, onPin, onPlace, children }: {
  drawing: Drawn;
  label: string;
  /** The finding in hand. */
  pinNow?: string | undefined;
  /** The part or joint in hand. */
  partNow?: string | undefined;
  onPin?: (finding: string) => void;
  onPlace?: (place: MapPlace) => void;
  /** What stands beside the zoom buttons. */
  children?: ComponentChildren;
}) {
  const [zoom, setZoom] = useState(0);
  // What a mark of the counter says, while it is pointed at.
  const [told, setTold] = useState<string>();
  const classOf = (attributes: Record<string, string>) => {
    if (pinNow !== undefined && attributes["data-finding"] === pinNow) return "now";
    return partNow !== undefined && (attributes["data-part"] === partNow || attributes["data-joint"] === partNow) ? "part-now" : undefined;
  };
  function at(event: Event): boolean {
    const { target } = event;
    if (!(target instanceof Element)) return false;
    const pin = target.closest("[data-finding]")?.getAttribute("data-finding");
    if (pin != null) {
      onPin?.(pin);
      return true;
    }
    const mark = target.closest("[data-mark]")?.getAttribute("aria-label");
    setTold(mark ?? undefined);
    if (mark != null) return true;
    const place = target.closest("[data-joint], [data-part]");
    const [joint, part] = [place?.getAttribute("data-joint"), place?.getAttribute("data-part")];
    const point = event instanceof MouseEvent ? pointOnSheet(target.closest("svg"), event) : undefined;
    if (joint != null) onPlace?.({ on: "joint", id: joint, point });
    else if (part != null) onPlace?.({ on: "part", id: part, point });
    return joint != null || part != null;
  }
  const step = (by: 1 | -1) => setZoom(Math.min(ZOOMS.length - 1, Math.max(0, zoom + by)));
  return (
    <div class="map-sheet">
      <div
        class={zoom > 0 ? "map near" : "map"}
        role="group"
        aria-label={label}
        style={{ "--zoom": ZOOMS[zoom] ?? 1 }}
        {...(zoom > 0 ? { tabIndex: 0 } : {})}
        onClick={at}
        onKeyDown={(event) => {
          if ((event.key === "Enter" || event.key === " ") && event.target instanceof Element && event.target.closest("[data-finding], [data-mark]") !== null && at(event)) event.preventDefault();
        }}
      >
        <Drawing drawing={drawing} classOf={classOf} />
      </div>
      <div class="map-foot">
        <div class="quiet" role="status">{told ?? children}</div>
        <button type="button" class="btn" aria-label={words.map.nearer} disabled={zoom === ZOOMS.length - 1} onClick={() => step(1)}>+</button>
        <button type="button" class="btn" aria-label={words.map.further} disabled={zoom === 0} onClick={() => step(-1)}>−</button>
      </div>
    </div>
  );
}
