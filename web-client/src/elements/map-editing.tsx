import { useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { JointKind, Material, OrderMap, PartKind, PartMapChange } from "../api/shapes";
import { type Measured, rangeBeyond } from "../shop/far-measures";
import { readDecimal } from "../shop/quote-draft";
import { words } from "../words";
import { mapWords } from "../words/en-map";
import { Button } from "./button";
import { isOneOf, keysOf, Options, SelectField, TextField, textIn } from "./form";
import { FillerField } from "./measure-panel";
import type { MapPlace } from "./part-map";
import { RefusalNote } from "./refusal-note";
import { faultAt, useAct, type Refusal } from "./use-act";

type Editing = { map: OrderMap; onMap: () => Promise<void>; onPlace: (place: MapPlace) => void; onClose: () => void };
type Change = (wanted: PartMapChange) => Promise<boolean>;

/** What the template does not have is added here, and what was struck is brought back. */
export function MapEditing({ map, onMap, onPlace, onClose }: Editing) {
  const act = useAct();
  const [adding, setAdding] = useState<"part" | "joint">("part");
  const [said, setSaid] = useState<string>();
  // The form of what was added is begun anew: a list that is reset goes to its first line, not to
  // the one that is usual.
  const [round, setRound] = useState(0);
  const change: Change = (wanted) => {
    setSaid(undefined);
    return act.run(() => calls.instruments.amendMap(map.instrument_id, wanted, map.version), onMap);
  };
  const added = (name: string) => {
    setSaid(mapWords.added(name));
    setRound(round + 1);
  };
  const turnTo = (what: "part" | "joint") => {
    // What was wrong with the one says nothing of the other.
    act.clear();
    setAdding(what);
  };
  const about = { map, busy: act.busy, refusal: act.refusal, change, onAdded: added, round };
  return (
    <div class="form map-editing" role="region" aria-label={mapWords.editTitle}>
      <div class="row"><h2 class="grow">{mapWords.editTitle}</h2><button type="button" class="link" onClick={onClose}>{words.common.close}</button></div>
      <div class="seg plain" role="group" aria-label={mapWords.edit}>
        <button type="button" class="btn" aria-pressed={adding === "part"} onClick={() => turnTo("part")}>{mapWords.addPart}</button>
        <button type="button" class="btn" aria-pressed={adding === "joint"} onClick={() => turnTo("joint")}>{mapWords.addJoint}</button>
      </div>
      {adding === "part" ? <AddPart {...about} /> : <AddJoint {...about} />}
      <RefusalNote refusal={act.refusal} onReload={() => void onMap().then(act.clear)} />
      {said !== undefined && <p role="status"><b>{said}</b></p>}
      <Struck map={map} busy={act.busy} change={change} onPlace={onPlace} />
    </div>
  );
}

function there(map: OrderMap) {
  return map.map.parts.filter((one) => !one.struck_reason);
}

/** mm in a field: `undefined` where it is empty, NaN where it is no number. */
function millimetres(form: HTMLFormElement, name: string): number | undefined {
  const text = textIn(form, name);
  return text === "" ? undefined : Number(readDecimal(text, 3) ?? Number.NaN);
}

type Adding = { map: OrderMap; busy: boolean; refusal: Refusal | undefined; change: Change; onAdded: (name: string) => void; round: number };

/** What is wrong with the fields of a new part, by their names. */
type PartFaults = Partial<Record<"name" | "length_mm" | "outside_diameter_mm" | "wall_mm" | "at_mm", string>>;

/** A measure that has to be there and within what the server takes. */
function faultOfMeasure(what: Measured, mm: number | undefined): string | undefined {
  if (mm === undefined || Number.isNaN(mm)) return words.map.badMeasure;
  const range = rangeBeyond(what, mm);
  return range === undefined ? undefined : mapWords.beyond(String(range[0]), String(range[1]));
}

function AddPart({ map, busy, refusal, change, onAdded, round }: Adding) {
  const [wrong, setWrong] = useState<PartFaults>({});
  const [on, setOn] = useState("");
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const [name, kind, material, held] = [textIn(form, "name"), textIn(form, "kind"), textIn(form, "material"), textIn(form, "held")];
    const [length_mm, outside_diameter_mm, wall_mm, at] = [millimetres(form, "length_mm"), millimetres(form, "outside_diameter_mm"), millimetres(form, "wall_mm"), millimetres(form, "at_mm")];
    const host = there(map).find((one) => one.id === on);
    const at_mm = at ?? (host === undefined ? 0 : host.length.mm / 2);
    const found: Record<keyof PartFaults, string | undefined> = {
      name: name === "" ? words.common.fillIn : undefined,
      length_mm: faultOfMeasure("length", length_mm),
      outside_diameter_mm: faultOfMeasure("diameter", outside_diameter_mm),
      // Empty is solid, and in the middle.
      wall_mm: wall_mm === undefined ? undefined : faultOfMeasure("wall", wall_mm),
      at_mm: Number.isNaN(at_mm) ? words.map.badMeasure : undefined,
    };
    const first = keysOf(FIELDS).find((field) => found[field] !== undefined);
    setWrong(Object.fromEntries(Object.entries(found).filter(([, fault]) => fault !== undefined)));
    if (first !== undefined) {
      const field = form.elements.namedItem(first);
      if (field instanceof HTMLElement) field.focus();
      return;
    }
    if (length_mm === undefined || outside_diameter_mm === undefined || !isOneOf<PartKind>(mapWords.kinds, kind) || !isOneOf<Material>(mapWords.materials, material)) return;
    const part = { name, kind, material, length_mm, outside_diameter_mm, ...(wall_mm === undefined ? {} : { wall_mm }), ...(host === undefined ? {} : { sits_on: { part: host.id, at_mm } }) };
    const joint = host !== undefined && isOneOf<JointKind>(words.map.held, held) ? [{ held, places: [{ part: name, at_mm: length_mm / 2 }, { part: host.id, at_mm }] }] : [];
    if (await change({ add_parts: [part], add_joints: joint })) {
      setOn("");
      onAdded(name);
    }
  }
  const fault = (field: keyof PartFaults) => wrong[field] ?? FIELDS[field].split(" ").map((pointer) => faultAt(refusal, pointer)).find((one) => one !== undefined);
  return (
    <form class="stack" onSubmit={(event) => void save(event)}>
      <div class="cols" key={round}>
        <TextField label={mapWords.name} name="name" fault={fault("name")} />
        <SelectField label={mapWords.kind} name="kind" fault={faultAt(refusal, "/add_parts/0/kind")}><Options of={mapWords.kinds} chosen="fitting" /></SelectField>
        <SelectField label={mapWords.material} name="material" fault={faultAt(refusal, "/add_parts/0/material")}><Options of={mapWords.materials} chosen="brass_c260" /></SelectField>
        <TextField label={mapWords.newLength} name="length_mm" inputMode="decimal" fault={fault("length_mm")} />
        <TextField label={mapWords.newDiameter} name="outside_diameter_mm" inputMode="decimal" fault={fault("outside_diameter_mm")} />
        <TextField label={mapWords.solid} name="wall_mm" inputMode="decimal" fault={fault("wall_mm")} />
        <SelectField label={mapWords.on} name="on" value={on} fault={faultAt(refusal, "/add_parts/0/sits_on/part")} onInput={(event) => setOn(event.currentTarget.value)}>
          <option value="">{mapWords.onNothing}</option>
          {there(map).map((one) => <option key={one.id} value={one.id}>{one.name}</option>)}
        </SelectField>
        {on !== "" && <TextField label={mapWords.atFrom} name="at_mm" inputMode="decimal" fault={fault("at_mm")} />}
        {on !== "" && <SelectField label={words.map.heldBy} name="held" fault={faultAt(refusal, "/add_joints/0/held")}><Options of={words.map.held} chosen="soft_soldered" /><option value="">{mapWords.notHeld}</option></SelectField>}
      </div>
      <div class="foot row"><Button class="btn main" busy={busy}>{mapWords.addPart}</Button></div>
    </form>
  );
}

/** Where the server's faults of a new part stand: its joint is made of the same fields. */
const FIELDS: Record<keyof PartFaults, string> = {
  name: "/add_parts/0/name /add_parts/0/id",
  length_mm: "/add_parts/0/length_mm",
  outside_diameter_mm: "/add_parts/0/outside_diameter_mm",
  wall_mm: "/add_parts/0/wall_mm",
  at_mm: "/add_parts/0/sits_on/at_mm /add_joints/0/places/1/at_mm",
};

function AddJoint({ map, busy, refusal, change, onAdded, round }: Adding) {
  const [wrong, setWrong] = useState(false);
  const parts = there(map);
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const [held, filler, name] = [textIn(form, "held"), textIn(form, "filler"), textIn(form, "name")];
    const place = (which: "first" | "second") => {
      const part = parts.find((one) => one.id === textIn(form, which));
      return part === undefined ? undefined : { part: part.id, at_mm: millimetres(form, `${which}_mm`) ?? part.length.mm / 2 };
    };
    const [first, second] = [place("first"), place("second")];
    const solidus_c = millimetres(form, "solidus_c");
    const good = first !== undefined && second !== undefined && first.part !== second.part && ![first.at_mm, second.at_mm, solidus_c].some(Number.isNaN);
    setWrong(!good);
    if (!good || !isOneOf<JointKind>(words.map.held, held)) return;
    const joint = { held, places: [first, second], ...(filler === "" ? {} : { filler }), ...(solidus_c === undefined ? {} : { solidus_c }), ...(name === "" ? {} : { name }) };
    if (await change({ add_joints: [joint] })) onAdded(name === "" ? mapWords.addedJoint : name);
  }
  const options = parts.map((one) => <option key={one.id} value={one.id}>{one.name}</option>);
  return (
    <form class="stack" onSubmit={(event) => void save(event)}>
      <div class="cols" key={round}>
        {(["first", "second"] as const).flatMap((which, at) => [
          <SelectField key={which} label={mapWords[which]} name={which} fault={faultAt(refusal, `/add_joints/0/places/${at}/part`)}><option value="">{words.findingsTab.partChoose}</option>{options}</SelectField>,
          <TextField key={`${which}_mm`} label={mapWords.atFrom} name={`${which}_mm`} inputMode="decimal" fault={faultAt(refusal, `/add_joints/0/places/${at}/at_mm`)} />,
        ])}
        <SelectField label={words.map.heldBy} name="held" fault={faultAt(refusal, "/add_joints/0/held")}><Options of={words.map.held} chosen="soft_soldered" /></SelectField>
        <FillerField chosen="" fault={faultAt(refusal, "/add_joints/0/filler")} />
        <TextField label={mapWords.solidus} help={mapWords.solidusHelp} name="solidus_c" inputMode="decimal" fault={faultAt(refusal, "/add_joints/0/solidus_c")} />
        <TextField label={mapWords.name} name="name" fault={faultAt(refusal, "/add_joints/0/name")} />
      </div>
      {wrong && <p class="fault" role="alert">{mapWords.twoParts}</p>}
      <div class="foot row"><Button class="btn main" busy={busy}>{mapWords.addJoint}</Button></div>
    </form>
  );
}

/** What was struck, with its reason and the way back. */
function Struck({ map, busy, change, onPlace }: { map: OrderMap; busy: boolean; change: Change; onPlace: (place: MapPlace) => void }) {
  const parts = map.map.parts.filter((one) => one.struck_reason);
  const joints = map.map.joints.filter((one) => one.struck_reason);
  const all = [...parts.map((one) => ({ on: "part" as const, one })), ...joints.map((one) => ({ on: "joint" as const, one }))];
  return (
    <div class="stack">
      <h3>{mapWords.struckTitle}</h3>
      {all.length === 0 && <p class="quiet">{mapWords.struckNone}</p>}
      <ul class="struck-list">
        {all.map(({ on, one }) => (
          <li key={`${on}-${one.id}`} class="row">
            <span class="grow">{one.name}: {one.struck_reason}</span>
            <Button type="button" class="btn" busy={busy} onClick={() => void change(on === "part" ? { parts: [{ part: one.id, restored: true }] } : { joints: [{ joint: one.id, restored: true }] }).then((done) => {
              if (done) onPlace({ on, id: one.id });
            })}>{mapWords.restore}</Button>
          </li>
        ))}
      </ul>
    </div>
  );
}
