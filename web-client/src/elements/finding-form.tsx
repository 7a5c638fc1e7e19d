import type { VNode } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Family, Finding, FindingKind, FoundWhen, Leaks, NewFinding, PartMap, Stage } from "../api/shapes";
import { parts } from "../store";
import { words } from "../words";
import { AreaField, isOneOf, keysOf, Options, SelectField, TextField, textIn } from "./form";
import { faultsOfFinding, type FindingFaults } from "../shop/finding-draft";
import { usualKinds } from "../shop/finding-kinds";
import { nearestJoint } from "../shop/finding-place";
import { millimetresAt, sideAt } from "../shop/part-line";
import { pointedAt, type Pointed } from "../shop/pointed";
import { readDecimal } from "../shop/quote-draft";
import type { MapPlace } from "./part-map";

type FormOfFinding = {
  family: Family;
  stage: Stage;
  finding?: Finding;
  /** The instrument's own map: its parts and joints are what can be named. */
  map?: PartMap | undefined;
  /** The place pointed at on the map. */
  picked?: MapPlace | undefined;
  /** What is known of a new finding's leak: a leak test that fails there says yes. */
  leaks?: Leaks | undefined;
};

/**
 * The fields of a finding, for a form around them. `read` gives the finding, or `undefined` where
 * something is wrong, which then stands at its field.
 */
export function useFindingFields(about: FormOfFinding): { fields: VNode; read: (form: HTMLFormElement) => NewFinding | undefined } {
  const [faults, setFaults] = useState<FindingFaults>({});
  const mended = (field: keyof FindingFaults) => setFaults(({ [field]: _, ...rest }) => rest);
  return {
    fields: <FindingFields {...about} faults={faults} onMended={mended} />,
    read: (form) => {
      const part = textIn(form, "part");
      const found = faultsOfFinding({ kind: textIn(form, "kind"), part, size: textIn(form, "size_mm"), position: textIn(form, "position_mm") }, lengthOf(about.map, part));
      setFaults(found);
      const first = (["kind", "part", "size", "position"] as const).find((one) => found[one] !== undefined);
      if (first === undefined) return readFinding(form);
      const field = form.elements.namedItem(first === "part" || first === "kind" ? first : `${first}_mm`);
      if (field instanceof HTMLElement) field.focus();
      return undefined;
    },
  };
}

/** How long a part of this map is, by the name that stands in the list; a joint has no length. */
function lengthOf(map: PartMap | undefined, name: string): number | undefined {
  return map?.parts.find((one) => !one.struck_reason && (one.name === name || one.id === name))?.length.mm;
}

function FindingFields({ family, stage, finding, map, picked, leaks, faults, onMended }: FormOfFinding & { faults: FindingFaults; onMended: (field: keyof FindingFaults) => void }) {
  const found = finding?.found_when ?? foundAt(stage);
  const listed = parts.value.get(family) ?? [];
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const groups = map === undefined
    ? [{ label: words.map.parts, of: listed.map((part) => ({ id: part.name, name: part.name, label: part.label })) }]
    : [{ label: words.map.parts, of: there(map.parts).map(asOption) }, { label: words.map.joints, of: there(map.joints).map(asOption) }];
  const kept = finding?.part;
  // What is chosen stays chosen when the map comes after the family's list.
  const [chosen, setChosen] = useState(kept ?? "");
  const isListed = (word: string) => groups.some((group) => group.of.some((one) => one.name === word || one.id === word));
  const value = groups.flatMap((group) => group.of).find((one) => one.id === chosen)?.name ?? chosen;
  const [at, setAt] = useState<Pointed>(() => ({ side: finding?.side ?? "", position: finding?.position_mm ?? "", saidSide: Boolean(finding?.side), saidPosition: finding?.position_mm != null }));
  const [saidLeaks, setLeaks] = useState<Leaks>();
  const leaksNow = saidLeaks ?? finding?.leaks ?? leaks ?? "not_tested";
  useEffect(() => {
    const name = groups.flatMap((group) => group.of).find((one) => one.id === picked?.id)?.name;
    if (picked === undefined || name === undefined) return;
    setChosen(name);
    onMended("part");
    const part = picked.on === "part" ? map?.parts.find((one) => one.id === picked.id) : undefined;
    const onPart = part === undefined || picked.point === undefined ? undefined : { part, point: picked.point };
    setAt(pointedAt(at, {
      // Whoever said the side first and the part by a tap meant that part.
      samePart: value === "" || value === name,
      side: onPart === undefined ? undefined : sideAt(onPart.part, onPart.point, map?.sheet.units_per_mm ?? 1),
      mm: onPart === undefined ? undefined : millimetresAt(onPart.part, onPart.point),
    }));
    onMended("position");
  }, [picked]);
  const length = lengthOf(map, value);
  const unreadable = words.map.badMeasure;
  return (
    <>
      <div class="cols">
        <SelectField label={words.findingsTab.kind} name="kind" fault={faults.kind === undefined ? undefined : words.findingsTab.kindMissing} onInput={() => onMended("kind")}>
          {finding === undefined && <option value="">{words.findingsTab.partChoose}</option>}
          <Kinds family={family} chosen={finding?.kind} />
        </SelectField>
        <SelectField label={words.findingsTab.part} name="part" value={value} fault={faults.part === undefined ? undefined : words.findingsTab.partMissing(map !== undefined)} onInput={(event) => {
          setChosen(event.currentTarget.value);
          onMended("part");
          onMended("position");
        }}>
          {value === "" && <option value="">{words.findingsTab.partChoose}</option>}
          {value !== "" && !isListed(value) && <option value={value}>{value}</option>}
          {groups.length === 1
            ? groups.flatMap((group) => group.of).map((one) => <option key={one.id} value={one.name}>{one.label}</option>)
            : groups.map((group) => (
              <optgroup key={group.label} label={group.label}>
                {group.of.map((one) => <option key={one.id} value={one.name}>{one.label}</option>)}
              </optgroup>
            ))}
        </SelectField>
      </div>
      <SideField side={at.side} onSide={(side) => setAt({ ...at, side, saidSide: side !== "" })} />
      <div class="cols">
        <TextField label={words.findingsTab.size} name="size_mm" inputMode="decimal" defaultValue={finding?.size_mm ?? ""} fault={faults.size === undefined ? undefined : unreadable} onInput={() => onMended("size")} />
        <TextField
          label={words.findingsTab.position}
          name="position_mm"
          inputMode="decimal"
          value={at.position}
          fault={faults.position === undefined ? undefined : faults.position === "beyond" && length !== undefined ? words.findingsTab.beyond(value, millimetreWords(length)) : unreadable}
          onInput={({ currentTarget: { value: position } }) => {
            setAt({ ...at, position, saidPosition: position.trim() !== "" });
            onMended("position");
          }}
        />
        <SelectField label={words.findingsTab.found} name="found_when"><Options of={words.foundWhen} chosen={found} /></SelectField>
      </div>
      <fieldset class="tickbox" aria-label={words.findingsTab.leaks}>
        {keysOf(words.leaks).map((leak) => (
          <label key={leak} class="check">
            <input type="radio" name="leaks" value={leak} checked={leak === leaksNow} onInput={() => setLeaks(leak)} /> {words.leaks[leak]}
          </label>
        ))}
        <label class="check"><input type="checkbox" name="likely_to_spread" defaultChecked={finding?.likely_to_spread ?? false} /> {words.findingsTab.spread}</label>
      </fieldset>
      <AreaField label={words.findingsTab.note} name="note" defaultValue={finding?.note ?? ""} />
    </>
  );
}

/** What such an instrument usually has, the commonest first; whatever else can be found stands after it. */
function Kinds({ family, chosen }: { family: Family; chosen: FindingKind | undefined }) {
  const usual = usualKinds(family);
  const rest = keysOf<FindingKind>(words.findings).filter((kind) => !usual.includes(kind));
  const option = (kind: FindingKind) => <option key={kind} value={kind} selected={kind === chosen}>{words.findings[kind]}</option>;
  return (
    <>
      {usual.map(option)}
      <optgroup label={words.findingsTab.otherKinds}>{rest.map(option)}</optgroup>
    </>
  );
}

/** The side of the part as it lies in the drawing; pressing the one chosen takes it back. */
function SideField({ side, onSide }: { side: string; onSide: (side: string) => void }) {
  const four = keysOf(words.sides);
  // What was written in other words can be chosen again after another one was.
  const [own] = useState(side);
  const all = [...four.map((one) => ({ value: one as string, label: words.sides[one] })), ...[...new Set([own, side])].filter((one) => one !== "" && !isOneOf(words.sides, one)).map((one) => ({ value: one, label: one }))];
  return (
    <div class="field">
      <span>{words.findingsTab.side}</span>
      <div class="seg plain sides" role="group" aria-label={words.findingsTab.side}>
        {all.map(({ value, label }) => (
          <button key={value} type="button" class="btn" aria-pressed={value === side} onClick={() => onSide(value === side ? "" : value)}>{label}</button>
        ))}
      </div>
      <input type="hidden" name="side" value={side} />
    </div>
  );
}

function millimetreWords(mm: number): string {
  return words.common.millimetres(String(Number(mm.toFixed(1))));
}

function asOption({ id, name }: { id: string; name: string }): { id: string; name: string; label: string } {
  return { id, name, label: name };
}

/** When something is found, going by where the order stands. */
function foundAt(stage: Stage): FoundWhen {
  return stage === "bench" ? "on_the_bench" : stage === "leak_test" ? "at_the_test" : "first_examination";
}

/** The finding in a form; `undefined` when a list holds none of its words. */
function readFinding(form: HTMLFormElement): NewFinding | undefined {
  const [kind, leaks, found_when] = [textIn(form, "kind"), textIn(form, "leaks"), textIn(form, "found_when")];
  if (!isOneOf<FindingKind>(words.findings, kind) || !isOneOf<Leaks>(words.leaks, leaks) || !isOneOf<FoundWhen>(words.foundWhen, found_when)) return undefined;
  const [side, note, size_mm, position_mm] = [textIn(form, "side"), textIn(form, "note"), readDecimal(textIn(form, "size_mm"), 3), readDecimal(textIn(form, "position_mm"), 3)];
  return {
    kind, leaks, found_when,
    part: textIn(form, "part"),
    likely_to_spread: textIn(form, "likely_to_spread") !== "",
    ...(side === "" ? {} : { side }),
    ...(note === "" ? {} : { note }),
    ...(size_mm === undefined ? {} : { size_mm }),
    ...(position_mm === undefined ? {} : { position_mm }),
  };
}

/** `34 mm from the bell brace`: where on its part a finding is; `undefined` where nobody said. */
export function placeWords(finding: Pick<Finding, "part" | "position_mm">, map: PartMap | undefined): string | undefined {
  if (finding.position_mm == null) return undefined;
  const from = map === undefined ? undefined : nearestJoint(map, finding.part, Number(finding.position_mm));
  if (from === undefined) return words.findingsTab.along(finding.position_mm);
  return from.away_mm < 0.5 ? words.findingsTab.atJoint(from.name) : words.findingsTab.fromJoint(String(Math.round(from.away_mm)), from.name);
}

/** `Crack, upper branch, 14 mm` */
export function findingWords(finding: Pick<Finding, "kind" | "part" | "side" | "size_mm">, part: string): string {
  return words.common.list([
    words.findings[finding.kind],
    part,
    ...(finding.side ? [isOneOf(words.sides, finding.side) ? words.sides[finding.side].toLowerCase() : finding.side] : []),
    ...(finding.size_mm == null ? [] : [words.common.millimetres(finding.size_mm)]),
  ]);
}
