import type { ComponentChildren } from "preact";
import { useLayoutEffect, useState } from "preact/hooks";
import type { PartMap } from "../api/shapes";
import type { Drawn } from "../shop/drawing";
import { meant, type Under } from "../shop/map-places";
import { namedParts, placeNames } from "../shop/names-on-map";
import type { Point } from "../shop/part-line";
import { words } from "../words";
import { Drawing } from "./drawing";
import { useWidth } from "./use-width";

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
/** The most other things at the same place that are offered. */
const MOST_ALSO = 4;

/** What lies under a pointer on a drawing, from above to below. */
function underPointer(svg: SVGSVGElement, { clientX, clientY }: MouseEvent): Under[] {
  return document.elementsFromPoint(clientX, clientY).flatMap((element): Under[] => {
    const place = svg.contains(element) ? element.closest("[data-joint], [data-part]") : null;
    const [joint, part] = [place?.getAttribute("data-joint"), place?.getAttribute("data-part")];
    const { left, top, width, height } = (place ?? element).getBoundingClientRect();
    const size = Math.max(width, height);
    if (joint != null) {
      const isArea = element.classList.contains("hit");
      return [{ on: "joint", id: joint, away: isArea ? Math.hypot(clientX - left - width / 2, clientY - top - height / 2) : 0, size }];
    }
    return part == null ? [] : [{ on: "part", id: part, away: 0, size }];
  });
}

/**
 * An instrument's part map: every pin is a button, every part and joint can be pointed at. What it
 * shows stands in words beside it, so nothing is lost to whoever does not see it.
 */
export function PartMapView({ drawing, label, pinNow, partNow, places, found = [], onPin, onPlace, children }: {
  drawing: Drawn;
  label: string;
  /** The finding in hand. */
  pinNow?: string | undefined;
  /** The part or joint in hand. */
  partNow?: string | undefined;
  /** What can be chosen by its name as well as on the drawing. */
  places?: Pick<PartMap, "parts" | "joints"> | undefined;
  /** Parts on which something was found, by their ids. */
  found?: readonly string[];
  onPin?: (finding: string) => void;
  onPlace?: (place: MapPlace) => void;
  /** What stands beside the zoom buttons. */
  children?: ComponentChildren;
}) {
  const [zoom, setZoom] = useState(0);
  // What a mark of the counter says, while it is pointed at.
  const [told, setTold] = useState<string>();
  // What else lies where the drawing was tapped last.
  const [also, setAlso] = useState<(MapPlace & { name: string })[]>([]);
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
    const svg = target.closest("svg");
    if (svg === null || !(event instanceof MouseEvent)) return false;
    const point = pointOnSheet(svg, event);
    const [first, ...others] = meant(underPointer(svg, event));
    const named = ({ on, id }: Under) => ({ on, id, point, name: svg.querySelector(`g[data-${on}="${CSS.escape(id)}"] > title`)?.textContent ?? id });
    setAlso(first === undefined ? [] : [first, ...others].slice(0, MOST_ALSO + 1).map(named));
    if (first !== undefined) onPlace?.({ on: first.on, id: first.id, point });
    return first !== undefined;
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
        {places !== undefined && <Names drawing={drawing} of={namedParts(places, partNow, found)} zoom={zoom} />}
      </div>
      {also.length > 1 && also.some((one) => one.id === partNow) && (
        <div class="row also" role="group" aria-label={words.map.alsoHere}>
          <span class="quiet">{words.map.alsoHere}</span>
          {also.filter((one) => one.id !== partNow).map(({ name, ...place }) => (
            <button key={`${place.on}-${place.id}`} type="button" class="btn" onClick={() => onPlace?.(place)}>{name}</button>
          ))}
        </div>
      )}
      <div class="map-foot">
        <div class="quiet" role="status">{told ?? children}</div>
        {places !== undefined && <PlaceList places={places} now={partNow} onPlace={onPlace} />}
        <button type="button" class="btn" aria-label={words.map.nearer} disabled={zoom === ZOOMS.length - 1} onClick={() => step(1)}>+</button>
        <button type="button" class="btn" aria-label={words.map.further} disabled={zoom === 0} onClick={() => step(-1)}>−</button>
      </div>
    </div>
  );
}

/** Parts and joints by their names: for the keyboard, and for what is drawn too small. */
function PlaceList({ places, now, onPlace }: { places: Pick<PartMap, "parts" | "joints">; now: string | undefined; onPlace: ((place: MapPlace) => void) | undefined }) {
  const lists = [{ on: "part" as const, label: words.map.parts, of: places.parts }, { on: "joint" as const, label: words.map.joints, of: places.joints }];
  const there = lists.map((list) => ({ ...list, of: list.of.filter((one) => !one.struck_reason) }));
  const chosen = there.find(({ of }) => of.some((one) => one.id === now));
  return (
    <select class="in" aria-label={words.map.byName} value={chosen === undefined ? "" : `${chosen.on}:${now ?? ""}`} onInput={({ currentTarget: { value } }) => {
      const on = value.startsWith("joint:") ? "joint" : "part";
      if (value !== "") onPlace?.({ on, id: value.slice(on.length + 1) });
    }}>
      <option value="">{words.map.byName}</option>
      {there.map(({ on, label, of }) => (
        <optgroup key={on} label={label}>{of.map((one) => <option key={one.id} value={`${on}:${one.id}`}>{one.name}</option>)}</optgroup>
      ))}
    </select>
  );
}

/** A point on a part of the drawing, in its units: on the middle line where it has one, so far along it. */
export function spotOn(svg: SVGSVGElement, part: string, share: number): { x: number; y: number } {
  const group = svg.querySelector(`[data-part="${CSS.escape(part)}"]`);
  const line = group?.querySelector(".cl") ?? group?.querySelector("path, polyline, polygon");
  const inverse = svg.getScreenCTM()?.inverse();
  if (line instanceof SVGGeometryElement && inverse !== undefined) {
    const matrix = line.getScreenCTM();
    const point = line.getPointAtLength(line.getTotalLength() * share);
    if (matrix !== null) {
      const { x, y } = point.matrixTransform(matrix).matrixTransform(inverse);
      return { x, y };
    }
  }
  const box = group instanceof SVGGraphicsElement ? group.getBBox() : { x: 0, y: 0, width: 0, height: 0 };
  return { x: box.x + box.width * share, y: box.y + box.height / 2 };
}

/** On a phone the names beside the parts are too small to read: those that matter now are written larger over the drawing. */
const NAME_PX = 13;

function Names({ drawing, of, zoom }: { drawing: Drawn; of: readonly { id: string; name: string }[]; zoom: number }) {
  const [place, width] = useWidth<SVGSVGElement>();
  const [names, setNames] = useState<ReturnType<typeof placeNames>>([]);
  const [size, setSize] = useState(0);
  const wanted = JSON.stringify(of);
  useLayoutEffect(() => {
    const svg = place.current?.parentElement?.querySelector<SVGSVGElement>("svg:not(.names)");
    const inverse = svg?.getScreenCTM()?.inverse();
    if (svg == null || inverse === undefined || inverse === null || width === 0 || zoom > 0) return setNames([]);
    const { width: wide, height: high } = svg.viewBox.baseVal;
    const on = (x: number, y: number) => new DOMPoint(x, y).matrixTransform(inverse);
    const heads = [...svg.querySelectorAll(".pin .hd")].map((head) => {
      const box = head.getBoundingClientRect();
      const [from, to] = [on(box.left, box.top), on(box.right, box.bottom)];
      return { left: from.x, top: from.y, right: to.x, bottom: to.y };
    });
    const letter = NAME_PX * inverse.a;
    setSize(letter);
    setNames(placeNames(of.filter(({ id }) => svg.querySelector(`[data-part="${CSS.escape(id)}"]`) !== null).map((one) => ({ ...one, at: spotOn(svg, one.id, 0.5) })), heads, { width: wide, height: high }, letter));
  }, [drawing, wanted, width, zoom]);
  return (
    <svg class="names" viewBox={drawing.attributes?.["viewBox"]} ref={place} aria-hidden="true">
      {names.map((one) => <text key={one.id} x={(one.left + one.right) / 2} y={(one.top + one.bottom) / 2 + size * 0.35} font-size={size}>{one.name}</text>)}
    </svg>
  );
}
