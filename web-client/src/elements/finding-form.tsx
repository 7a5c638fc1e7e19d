import { useEffect, useRef } from "preact/hooks";
import type { Family, Finding, FindingKind, FoundWhen, Leaks, NewFinding, PartMap, Stage } from "../api/shapes";
import { parts } from "../store";
import { words } from "../words";
import { AreaField, isOneOf, keysOf, Options, SelectField, TextField, textIn } from "./form";
import { readDecimal } from "../shop/quote-draft";

/** Up to three decimals, a comma or a point. */
const MILLIMETRES = "\\d{1,5}([.,]\\d{1,3})?";

/** The fields of a finding, for a form around them; `readFinding` reads them again. */
export function FindingFields({ family, stage, finding, map, picked }: {
  family: Family;
  stage: Stage;
  finding?: Finding;
  /** The instrument's own map: its parts and joints are what can be named. */
  map?: PartMap | undefined;
  /** The part or joint pointed at on the map. */
  picked?: string | undefined;
}) {
  const found = finding?.found_when ?? foundAt(stage);
  const listed = parts.value.get(family) ?? [];
  const there = <T extends { struck_reason?: string | null }>(of: readonly T[]) => of.filter((one) => !one.struck_reason);
  const groups = map === undefined
    ? [{ label: words.map.parts, of: listed.map((part) => ({ id: part.name, name: part.name, label: part.label })) }]
    : [{ label: words.map.parts, of: there(map.parts).map(asOption) }, { label: words.map.joints, of: there(map.joints).map(asOption) }];
  const chosen = finding?.part;
  const isListed = (word: string) => groups.some((group) => group.of.some((one) => one.name === word || one.id === word));
  const select = useRef<HTMLSelectElement>(null);
  useEffect(() => {
    const name = groups.flatMap((group) => group.of).find((one) => one.id === picked)?.name;
    if (name !== undefined && select.current !== null) select.current.value = name;
  }, [picked]);
  return (
    <>
      <div class="cols">
        <SelectField label={words.findingsTab.kind} name="kind"><Options of={words.findings} chosen={finding?.kind} /></SelectField>
        <SelectField label={words.findingsTab.part} name="part" fieldRef={select}>
          {chosen !== undefined && !isListed(chosen) && <option value={chosen}>{chosen}</option>}
          {groups.length === 1
            ? groups.flatMap((group) => group.of).map((one) => <option key={one.id} value={one.name} selected={one.name === chosen}>{one.label}</option>)
            : groups.map((group) => (
              <optgroup key={group.label} label={group.label}>
                {group.of.map((one) => <option key={one.id} value={one.name} selected={one.name === chosen || one.id === chosen}>{one.label}</option>)}
              </optgroup>
            ))}
        </SelectField>
        <TextField label={words.findingsTab.side} name="side" placeholder={words.findingsTab.sidePlaceholder} defaultValue={finding?.side ?? ""} />
      </div>
      <div class="cols">
        <TextField label={words.findingsTab.size} name="size_mm" inputMode="decimal" pattern={MILLIMETRES} defaultValue={finding?.size_mm ?? ""} />
        <TextField label={words.findingsTab.position} name="position_mm" inputMode="decimal" pattern={MILLIMETRES} defaultValue={finding?.position_mm ?? ""} />
        <SelectField label={words.findingsTab.found} name="found_when"><Options of={words.foundWhen} chosen={found} /></SelectField>
      </div>
      <fieldset class="tickbox" aria-label={words.findingsTab.leaks}>
        {keysOf(words.leaks).map((leak) => (
          <label key={leak} class="check">
            <input type="radio" name="leaks" value={leak} defaultChecked={leak === (finding?.leaks ?? "not_tested")} /> {words.leaks[leak]}
          </label>
        ))}
        <label class="check"><input type="checkbox" name="likely_to_spread" defaultChecked={finding?.likely_to_spread ?? false} /> {words.findingsTab.spread}</label>
      </fieldset>
      <AreaField label={words.findingsTab.note} name="note" defaultValue={finding?.note ?? ""} />
    </>
  );
}

function asOption({ id, name }: { id: string; name: string }): { id: string; name: string; label: string } {
  return { id, name, label: name };
}

/** When something is found, going by where the order stands. */
function foundAt(stage: Stage): FoundWhen {
  return stage === "bench" ? "on_the_bench" : stage === "leak_test" ? "at_the_test" : "first_examination";
}

/** The finding in a form; `undefined` when a list holds none of its words. */
export function readFinding(form: HTMLFormElement): NewFinding | undefined {
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

/** `Crack, upper branch, 14 mm` */
export function findingWords(finding: Pick<Finding, "kind" | "part" | "side" | "size_mm">, part: string): string {
  return words.common.list([
    words.findings[finding.kind],
    part,
    ...(finding.side ? [finding.side] : []),
    ...(finding.size_mm == null ? [] : [words.common.millimetres(finding.size_mm)]),
  ]);
}
