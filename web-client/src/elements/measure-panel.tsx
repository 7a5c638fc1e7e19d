import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { JointKind, Material, OrderMap, PartMapChange, Seam } from "../api/shapes";
import { isFar, type Measured, rangeBeyond } from "../shop/far-measures";
import { readDecimal } from "../shop/quote-draft";
import { words } from "../words";
import { mapWords } from "../words/en-map";
import { Button } from "./button";
import { isOneOf, Options, SelectField, TextField, textIn } from "./form";
import type { MapPlace } from "./part-map";
import { ReasonPicker } from "./reason-picker";
import { RefusalNote } from "./refusal-note";
import { faultAt, useAct, type Refusal } from "./use-act";

/** The most diameters that are offered; a bell has a long list of them. */
const MOST_STATIONS = 4;

type Part = OrderMap["map"]["parts"][number];
type Joint = OrderMap["map"]["joints"][number];
/** A field of a measure: what it is, and what is known so far. */
type MeasureField = { name: string; label: string; what: Measured; of: Part["length"] };

/** The part or joint pointed at: what is known of it, and fields for what was measured. */
export function MeasurePanel({ map, place, onMap, onClose }: { map: OrderMap; place: MapPlace; onMap: () => Promise<void>; onClose: () => void }) {
  const act = useAct();
  const [striking, setStriking] = useState(false);
  // The fields are made anew from what is stored: a list that is reset goes to its first line, and
  // the next save would write that.
  const [kept, setKept] = useState(0);
  useEffect(() => {
    setStriking(false);
    act.clear();
  }, [place.id]);
  const part = place.on === "part" ? map.map.parts.find((one) => one.id === place.id) : undefined;
  const joint = place.on === "joint" ? map.map.joints.find((one) => one.id === place.id) : undefined;
  const change = (wanted: PartMapChange) => act.run(() => calls.instruments.amendMap(map.instrument_id, wanted, map.version), onMap);
  const strike = (struck_reason: string) => void change(part !== undefined ? { parts: [{ part: part.id, struck_reason }] } : { joints: [{ joint: place.id, struck_reason }] }).then((done) => {
    if (done) onClose();
  });
  const known = part ?? joint;
  const wanted = useRef<(form: HTMLFormElement) => PartMapChange | undefined>(undefined);
  if (known === undefined) return null;
  return (
    <form key={place.id} class="form" aria-label={known.name} onSubmit={(event) => {
      event.preventDefault();
      const form = event.currentTarget;
      const edit = wanted.current?.(form);
      if (edit !== undefined) void change(edit).then((done) => {
        if (done) setKept(kept + 1);
      });
    }}>
      <div class="row"><h2 class="grow">{known.name}</h2><button type="button" class="link" onClick={onClose}>{words.common.close}</button></div>
      {part !== undefined && <PartFields key={kept} part={part} busy={act.busy} refusal={act.refusal} onRead={(read) => { wanted.current = read; }} />}
      {joint !== undefined && <JointFields key={kept} joint={joint} refusal={act.refusal} onRead={(read) => { wanted.current = read; }} />}
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

type Reads = { refusal: Refusal | undefined; onRead: (read: (form: HTMLFormElement) => PartMapChange | undefined) => void };

function PartFields({ part, busy, refusal, onRead }: Reads & { part: Part; busy: boolean }) {
  const [wrong, setWrong] = useState<{ name: string; fault: string }>();
  const [far, setFar] = useState<{ typed: string; asks: string[] }>();
  const sure = useRef<string>(undefined);
  // Which diameters were told, in their order: a fault names its place among them.
  const told = useRef<string[]>([]);
  const pointerOf = (name: string) => (name.startsWith("diameter_") ? `/parts/0/diameters/${told.current.indexOf(name)}/outside_diameter_mm` : `/parts/0/${name}`);
  const group = useRef<HTMLDivElement>(null);
  const stations = part.diameters.length <= MOST_STATIONS ? part.diameters : [part.diameters[0], part.diameters.at(-1)].filter((one) => one !== undefined);
  const fields: MeasureField[] = [
    ...(part.wall == null ? [] : [{ name: "wall_mm", label: words.map.wall, what: "wall" as const, of: part.wall }]),
    ...stations.map((station, at) => ({ name: `diameter_${at}`, label: words.map.diameter(String(Math.round(station.at_mm))), what: "diameter" as const, of: station.outside_diameter })),
    { name: "length_mm", label: words.map.length, what: "length", of: part.length },
  ];
  onRead((form) => {
    const typed = fields.flatMap((field) => {
      const text = textIn(form, field.name);
      // Empty fields say nothing: what was typical stays typical.
      return text === "" ? [] : [{ ...field, mm: Number(readDecimal(text, 3)) }];
    });
    const bad = typed.find(({ what, mm }) => !(mm > 0) || rangeBeyond(what, mm) !== undefined);
    const range = bad === undefined || !(bad.mm > 0) ? undefined : rangeBeyond(bad.what, bad.mm);
    setWrong(bad === undefined ? undefined : { name: bad.name, fault: range === undefined ? words.map.badMeasure : mapWords.beyond(String(range[0]), String(range[1])) });
    if (bad !== undefined) return undefined;
    // What is far from all that is known is asked about once, and then kept as measured.
    const said = JSON.stringify(typed.map(({ name, mm }) => [name, mm]));
    const asks = typed.filter(({ what, mm, of }) => isFar(what, mm, of.mm)).map(({ label, mm, of }) => mapWords.far(label, String(mm), short(of.mm), mapWords.farBasis[of.basis]));
    if (asks.length > 0 && sure.current !== said) {
      setFar({ typed: said, asks });
      return undefined;
    }
    setFar(undefined);
    const of = (name: string) => typed.find((one) => one.name === name)?.mm;
    const [wall_mm, length_mm] = [of("wall_mm"), of("length_mm")];
    told.current = stations.flatMap((_, at) => (of(`diameter_${at}`) === undefined ? [] : [`diameter_${at}`]));
    const diameters = stations.flatMap((station, at) => {
      const outside_diameter_mm = of(`diameter_${at}`);
      return outside_diameter_mm === undefined ? [] : [{ at_mm: station.at_mm, outside_diameter_mm }];
    });
    const [seen, name, made] = [textIn(form, "seam"), textIn(form, "name"), textIn(form, "material")];
    const edit = {
      ...(wall_mm === undefined ? {} : { wall_mm }),
      ...(length_mm === undefined ? {} : { length_mm }),
      ...(diameters.length === 0 ? {} : { diameters }),
      ...(isOneOf<Seam>(words.map.seams, seen) && !(part.seam_seen === true && seen === part.seam) ? { seam: seen } : {}),
      ...(name !== "" && name !== part.name ? { name } : {}),
      ...(isOneOf<Material>(mapWords.materials, made) && made !== part.material ? { material: made } : {}),
    };
    return Object.keys(edit).length === 0 ? undefined : { parts: [{ part: part.id, ...edit }] };
  });
  return (
    <>
      <div class="cols">
        {fields.map(({ name, label, of }) => (
          <TextField key={name} label={words.map.nowIs(label, short(of.mm), words.map.basis[of.basis])} name={name} inputMode="decimal" fault={wrong?.name === name ? wrong.fault : faultAt(refusal, pointerOf(name))} />
        ))}
        {part.kind === "tube" && (
          <SelectField label={words.map.seam} name="seam">
            {part.seam_seen !== true && <option value="">{words.map.seamTypical[part.seam]}</option>}
            <Options of={words.map.seams} chosen={part.seam_seen === true ? part.seam : undefined} />
          </SelectField>
        )}
        <SelectField label={mapWords.material} name="material" fault={faultAt(refusal, "/parts/0/material")}><Options of={mapWords.materials} chosen={part.material} /></SelectField>
        <TextField label={mapWords.name} name="name" defaultValue={part.name} fault={faultAt(refusal, "/parts/0/name")} />
      </div>
      <p class="quiet">{mapWords.typicalName}</p>
      {far !== undefined && (
        <div class="reason" role="alert" ref={group}>
          {far.asks.map((ask) => <p key={ask}><b>{ask}</b></p>)}
          <div class="row">
            <Button type="button" class="btn" busy={busy} onClick={() => {
              sure.current = far.typed;
              group.current?.closest("form")?.requestSubmit();
            }}>{mapWords.farKeep}</Button>
            <button type="button" class="link" onClick={() => setFar(undefined)}>{mapWords.farBack}</button>
          </div>
        </div>
      )}
    </>
  );
}

function JointFields({ joint, refusal, onRead }: Reads & { joint: Joint }) {
  const [wrong, setWrong] = useState(false);
  onRead((form) => {
    const [held, name, filler, solidus] = [textIn(form, "held"), textIn(form, "name"), textIn(form, "filler"), textIn(form, "solidus_c")];
    const solidus_c = solidus === "" ? 0 : Number(readDecimal(solidus, 1));
    const bad = !(solidus === "" || (solidus_c >= 50 && solidus_c <= 1100));
    setWrong(bad);
    if (bad) return undefined;
    const edit = {
      ...(isOneOf<JointKind>(words.map.held, held) && held !== joint.held ? { held } : {}),
      ...(name !== "" && name !== joint.name ? { name } : {}),
      ...(filler === (joint.filler ?? "") ? {} : { filler }),
      ...(solidus_c === (joint.solidus_c ?? 0) ? {} : { solidus_c }),
    };
    return Object.keys(edit).length === 0 ? undefined : { joints: [{ joint: joint.id, ...edit }] };
  });
  return (
    <div class="cols">
      <SelectField label={words.map.heldBy} name="held"><Options of={words.map.held} chosen={joint.held} /></SelectField>
      <FillerField chosen={joint.filler ?? ""} fault={faultAt(refusal, "/joints/0/filler")} />
      <TextField label={mapWords.solidus} help={mapWords.solidusHelp} name="solidus_c" inputMode="decimal" defaultValue={joint.solidus_c == null ? "" : short(joint.solidus_c)} fault={wrong ? mapWords.noSolidus : faultAt(refusal, "/joints/0/solidus_c")} />
      <TextField label={mapWords.name} name="name" defaultValue={joint.name} fault={faultAt(refusal, "/joints/0/name")} />
    </div>
  );
}

/** What a joint is held with, where somebody knows. */
export function FillerField({ chosen, fault }: { chosen: string; fault: string | undefined }) {
  return (
    <SelectField label={mapWords.filler} name="filler" fault={fault}>
      <option value="">{mapWords.fillerUnknown}</option>
      <Options of={words.methods.softSolders} chosen={chosen} />
      <Options of={words.methods.brazingFillers} chosen={chosen} />
    </SelectField>
  );
}

function short(value: number): string {
  return String(Number(value.toFixed(2)));
}
