import type { Family, Finding, FindingKind, FoundWhen, Leaks, NewFinding, Stage } from "../api/shapes";
import { parts } from "../store";
import { words } from "../words";
import { AreaField, isOneOf, keysOf, Options, SelectField, TextField, textIn } from "./form";
import { readDecimal } from "../shop/quote-draft";

/** Up to three decimals, a comma or a point. */
const MILLIMETRES = "\\d{1,5}([.,]\\d{1,3})?";

/** The fields of a finding, for a form around them; `readFinding` reads them again. */
export function FindingFields({ family, stage, finding }: { family: Family; stage: Stage; finding?: Finding }) {
  const found = finding?.found_when ?? foundAt(stage);
  const known = parts.value.get(family) ?? [];
  return (
    <>
      <div class="cols">
        <SelectField label={words.findingsTab.kind} name="kind"><Options of={words.findings} chosen={finding?.kind} /></SelectField>
        <SelectField label={words.findingsTab.part} name="part">
          {finding !== undefined && !known.some((part) => part.name === finding.part) && <option value={finding.part}>{finding.part}</option>}
          {known.map((part) => <option key={part.name} value={part.name} selected={part.name === finding?.part}>{part.label}</option>)}
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
