import { useState } from "preact/hooks";
import * as calls from "../api/calls";
import type { JointKind, Material, OrderMap, PartKind, PartMapChange } from "../api/shapes";
import { rangeBeyond } from "../shop/far-measures";
import { readDecimal } from "../shop/quote-draft";
import { words } from "../words";
import { mapWords } from "../words/en-map";
import { Button } from "./button";
import { isOneOf, Options, SelectField, TextField, textIn } from "./form";
import { FillerField } from "./measure-panel";
import type { MapPlace } from "./part-map";
import { RefusalNote } from "./refusal-note";
import { useAct } from "./use-act";

type Editing = { map: OrderMap; onMap: () => Promise<void>; onPlace: (place: MapPlace) => void; onClose: () => void };
type Change = (wanted: PartMapChange) => Promise<boolean>;

/** What the template does not have is added here, and what was struck is brought back. */
export function MapEditing({ map, onMap, onPlace, onClose }: Editing) {
  const act = useAct();
  const [adding, setAdding] = useState<"part" | "joint">("part");
  const [said, setSaid] = useState<string>();
  const change: Change = (wanted) => act.run(() => calls.instruments.amendMap(map.instrument_id, wanted, map.version), onMap);
  const added = (name: string) => setSaid(mapWords.added(name));
  return (
    <div class="form map-editing" role="region" aria-label={mapWords.editTitle}>
      <div class="row"><h2 class="grow">{mapWords.editTitle}</h2><button type="button" class="link" onClick={onClose}>{words.common.close}</button></div>
      <div class="seg plain" role="group" aria-label={mapWords.edit}>
        <button type="button" class="btn" aria-pressed={adding === "part"} onClick={() => setAdding("part")}>{mapWords.addPart}</button>
        <button type="button" class="btn" aria-pressed={adding === "joint"} onClick={() => setAdding("joint")}>{mapWords.addJoint}</button>
      </div>
      {adding === "part" ? <AddPart map={map} busy={act.busy} change={change} onAdded={added} /> : <AddJoint map={map} busy={act.busy} change={change} onAdded={added} />}
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

function AddPart({ map, busy, change, onAdded }: { map: OrderMap; busy: boolean; change: Change; onAdded: (name: string) => void }) {
  const [wrong, setWrong] = useState(false);
  const [on, setOn] = useState("");
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const form = event.currentTarget;
    const [name, kind, material, held] = [textIn(form, "name"), textIn(form, "kind"), textIn(form, "material"), textIn(form, "held")];
    const [length_mm, outside_diameter_mm, wall_mm, at] = [millimetres(form, "length_mm"), millimetres(form, "outside_diameter_mm"), millimetres(form, "wall_mm"), millimetres(form, "at_mm")];
    const host = there(map).find((one) => one.id === on);
    const at_mm = at ?? (host === undefined ? 0 : host.length.mm / 2);
    const good = name !== "" && length_mm !== undefined && outside_diameter_mm !== undefined && [rangeBeyond("length", length_mm), rangeBeyond("diameter", outside_diameter_mm)].every((one) => one === undefined) && !Number.isNaN(wall_mm) && !Number.isNaN(at_mm);
    setWrong(!good);
    if (!good || !isOneOf<PartKind>(mapWords.kinds, kind) || !isOneOf<Material>(mapWords.materials, material)) return;
    const part = { name, kind, material, length_mm, outside_diameter_mm, ...(wall_mm === undefined ? {} : { wall_mm }), ...(host === undefined ? {} : { sits_on: { part: host.id, at_mm } }) };
    const joint = host !== undefined && isOneOf<JointKind>(words.map.held, held) ? [{ held, places: [{ part: name, at_mm: length_mm / 2 }, { part: host.id, at_mm }] }] : [];
    if (await change({ add_parts: [part], add_joints: joint })) {
      form.reset();
      setOn("");
      onAdded(name);
    }
  }
  return (
    <form class="stack" onSubmit={(event) => void save(event)}>
      <div class="cols">
        <TextField label={mapWords.name} name="name" />
        <SelectField label={mapWords.kind} name="kind"><Options of={mapWords.kinds} chosen="fitting" /></SelectField>
        <SelectField label={mapWords.material} name="material"><Options of={mapWords.materials} chosen="brass_c260" /></SelectField>
        <TextField label={mapWords.newLength} name="length_mm" inputMode="decimal" />
        <TextField label={mapWords.newDiameter} name="outside_diameter_mm" inputMode="decimal" />
        <TextField label={mapWords.solid} name="wall_mm" inputMode="decimal" />
        <SelectField label={mapWords.on} name="on" value={on} onInput={(event) => setOn(event.currentTarget.value)}>
          <option value="">{mapWords.onNothing}</option>
          {there(map).map((one) => <option key={one.id} value={one.id}>{one.name}</option>)}
        </SelectField>
        {on !== "" && <TextField label={mapWords.atFrom} name="at_mm" inputMode="decimal" />}
        {on !== "" && <SelectField label={words.map.heldBy} name="held"><Options of={words.map.held} chosen="soft_soldered" /><option value="">{mapWords.notHeld}</option></SelectField>}
      </div>
      {wrong && <p class="fault" role="alert">{mapWords.addFault}</p>}
      <div class="foot row"><Button class="btn main" busy={busy}>{mapWords.addPart}</Button></div>
    </form>
  );
}

function AddJoint({ map, busy, change, onAdded }: { map: OrderMap; busy: boolean; change: Change; onAdded: (name: string) => void }) {
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
    if (await change({ add_joints: [joint] })) {
      form.reset();
      onAdded(name === "" ? mapWords.addJoint : name);
    }
  }
  const options = parts.map((one) => <option key={one.id} value={one.id}>{one.name}</option>);
  return (
    <form class="stack" onSubmit={(event) => void save(event)}>
      <div class="cols">
        {(["first", "second"] as const).flatMap((which) => [
          <SelectField key={which} label={mapWords[which]} name={which}><option value="">{words.findingsTab.partChoose}</option>{options}</SelectField>,
          <TextField key={`${which}_mm`} label={mapWords.atFrom} name={`${which}_mm`} inputMode="decimal" />,
        ])}
        <SelectField label={words.map.heldBy} name="held"><Options of={words.map.held} chosen="soft_soldered" /></SelectField>
        <FillerField chosen="" />
        <TextField label={mapWords.solidus} help={mapWords.solidusHelp} name="solidus_c" inputMode="decimal" />
        <TextField label={mapWords.name} name="name" />
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
