import { useEffect, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { JointKind, OrderMap, PartMapChange, Seam } from "../api/shapes";
import { readDecimal } from "../shop/quote-draft";
import { words } from "../words";
import { Button } from "./button";
import { isOneOf, Options, SelectField, TextField, textIn } from "./form";
import type { MapPlace } from "./part-map";
import { ReasonPicker } from "./reason-picker";
import { RefusalNote } from "./refusal-note";
import { useAct } from "./use-act";

/** The most diameters that are offered; a bell has a long list of them. */
const MOST_STATIONS = 4;

/** The part or joint pointed at: what is known of it, and fields for what was measured. */
export function MeasurePanel({ map, place, onMap, onClose }: { map: OrderMap; place: MapPlace; onMap: () => Promise<void>; onClose: () => void }) {
  const act = useAct();
  const [striking, setStriking] = useState(false);
  const [wrong, setWrong] = useState<string>();
  useEffect(() => {
    setStriking(false);
    setWrong(undefined);
    act.clear();
  }, [place.id]);
  const part = place.on === "part" ? map.map.parts.find((one) => one.id === place.id) : undefined;
  const joint = place.on === "joint" ? map.map.joints.find((one) => one.id === place.id) : undefined;
  const change = (wanted: PartMapChange) => act.run(() => calls.instruments.amendMap(map.instrument_id, wanted, map.version), onMap);
  const strike = (struck_reason: string) => void change(part !== undefined ? { parts: [{ part: part.id, struck_reason }] } : { joints: [{ joint: place.id, struck_reason }] }).then((done) => {
    if (done) onClose();
  });
  const known = part ?? joint;
  if (known === undefined) return null;
  const stations = part?.diameters.length === undefined || part.diameters.length <= MOST_STATIONS ? (part?.diameters ?? []) : [part.diameters[0], part.diameters.at(-1)].filter((one) => one !== undefined);

  function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    if (joint !== undefined) {
      const held = textIn(form, "held");
      if (isOneOf<JointKind>(words.map.held, held) && held !== joint.held) void change({ joints: [{ joint: joint.id, held }] });
      return;
    }
    if (part === undefined) return;
    // Empty fields say nothing: what was typical stays typical.
    const names = ["wall_mm", "length_mm", ...stations.map((_, at) => `diameter_${at}`)];
    const bad = names.find((name) => textIn(form, name) !== "" && !(Number(readDecimal(textIn(form, name), 3)) > 0));
    setWrong(bad);
    if (bad !== undefined) return;
    const value = (name: string) => {
      const read = readDecimal(textIn(form, name), 3);
      return read === undefined ? undefined : Number(read);
    };
    const [wall_mm, length_mm] = [value("wall_mm"), value("length_mm")];
    const diameters = stations.flatMap((station, at) => {
      const outside_diameter_mm = value(`diameter_${at}`);
      return outside_diameter_mm === undefined ? [] : [{ at_mm: station.at_mm, outside_diameter_mm }];
    });
    const chosen = textIn(form, "seam");
    const seam = isOneOf<Seam>(words.map.seams, chosen) && !(part.seam_seen === true && chosen === part.seam) ? chosen : undefined;
    if (wall_mm === undefined && length_mm === undefined && diameters.length === 0 && seam === undefined) return;
    void change({ parts: [{ part: part.id, ...(wall_mm === undefined ? {} : { wall_mm }), ...(length_mm === undefined ? {} : { length_mm }), ...(diameters.length === 0 ? {} : { diameters }), ...(seam === undefined ? {} : { seam }) }] }).then((done) => {
      if (done) form.reset();
    });
  }
  const measure = (name: string, label: string, of: { mm: number; basis: "measured" | "typical" }) => (
    <TextField key={name} label={words.map.nowIs(label, String(Number(of.mm.toFixed(2))), words.map.basis[of.basis])} name={name} inputMode="decimal" fault={wrong === name ? words.map.badMeasure : undefined} />
  );
  return (
    <form class="form" aria-label={known.name} onSubmit={save}>
      <div class="row"><h2 class="grow">{known.name}</h2><button type="button" class="link" onClick={onClose}>{words.common.close}</button></div>
      {part !== undefined && (
        <div class="cols">
          {part.wall != null && measure("wall_mm", words.map.wall, part.wall)}
          {stations.map((station, at) => measure(`diameter_${at}`, words.map.diameter(String(Math.round(station.at_mm))), station.outside_diameter))}
          {measure("length_mm", words.map.length, part.length)}
          {part.kind === "tube" && (
            <SelectField label={words.map.seam} name="seam">
              {part.seam_seen !== true && <option value="">{words.map.seamTypical[part.seam]}</option>}
              <Options of={words.map.seams} chosen={part.seam_seen === true ? part.seam : undefined} />
            </SelectField>
          )}
        </div>
      )}
      {joint !== undefined && <SelectField label={words.map.heldBy} name="held"><Options of={words.map.held} chosen={joint.held} /></SelectField>}
      <RefusalNote refusal={act.refusal} onReload={() => void onMap().then(act.clear)} />
      {striking ? (
        <ReasonPicker title={words.map.strikeWhy} reasons={words.map.strikeReasons} busy={act.busy} nested onReason={strike} onLeave={() => setStriking(false)} />
      ) : (
        <div class="foot">
          <button type="button" class="link" onClick={() => setStriking(true)}>{words.map.strike}</button>
          <Button class="btn main" busy={act.busy}>{part === undefined ? words.common.save : words.map.measured}</Button>
        </div>
      )}
    </form>
  );
}
