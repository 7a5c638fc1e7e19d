import * as calls from "../../api/calls";
import type { Shop } from "../../api/shapes";
import { TextField } from "../../elements/form";
import { plainWords } from "../../elements/stale-panel";
import { type FitLimitsDraft, fitLimitsOf, GAUGES, readFitLimits, SLIDES } from "../../shop/fit-limits";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { benchWords } from "../../words/en-bench";
import { SaveFoot } from "./save-foot";
import { useSheet } from "./use-sheet";

/** By what a fit is judged, and what the tools can do that it is measured with. */
export function FitLimits({ shop, onShop }: { shop: Shop; onShop: (shop: Shop) => void }) {
  const { draft, change, faults, saved, act, save, look, panel } = useSheet<Shop, FitLimitsDraft, string>({
    value: shop,
    draftOf: (of) => fitLimitsOf(of.test_settings),
    fieldsOf: (typed) => typed,
    draftFrom: (fields) => Object.fromEntries(Object.entries(fields).map(([name, typed]) => [name, String(typed ?? "")])),
    read: (typed, shown) => {
      const read = readFitLimits(typed, shown.test_settings);
      return "faults" in read ? read : { send: (seen) => calls.shop.edit({ test_settings: read.settings }, seen) };
    },
    fetch: calls.shop.get,
    onSaved: onShop,
    what: words.stale.settings,
    fieldWords,
    show: (_, value) => plainWords(value),
  });
  const field = (name: string, label: string, more: { hideLabel?: boolean; help?: string; bad?: string } = {}) => (
    <TextField
      label={label}
      class="num"
      inputMode="decimal"
      value={draft[name] ?? ""}
      {...(more.hideLabel === true ? { hideLabel: true } : {})}
      help={more.help}
      fault={faults.includes(name) ? more.bad ?? benchWords.badNumber : undefined}
      onInput={(event) => {
        const { value } = event.currentTarget;
        change((old) => ({ ...old, [name]: value }));
      }}
    />
  );
  return (
    <details class="sheet">
      <summary>{benchWords.fits}</summary>
      {panel ?? <form class="stack" aria-label={benchWords.fits} onSubmit={save}>
        <p class="quiet">{benchWords.fitsHelp}</p>
        <div class="wide-table">
          <table class="bill limits">
            <thead><tr><th>{benchWords.kind}</th>{benchWords.upTo.map((one) => <th key={one}>{one}</th>)}</tr></thead>
            <tbody>
              {SLIDES.map((kind) => (
                <tr key={kind}>
                  <th scope="row">{words.fits.kinds[kind]}</th>
                  {benchWords.upTo.map((one, at) => <td key={one}>{field(`${kind} ${at}`, `${words.fits.kinds[kind]}: ${one}`, { hideLabel: true, bad: benchWords.badLimits })}</td>)}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        <div class="care">
          {field("shank taper", benchWords.taper, { help: benchWords.taperHelp })}
          {field("shank tolerance", benchWords.tolerance, { help: benchWords.toleranceHelp })}
        </div>
        <div class="wide-table">
          <table class="bill limits">
            <thead><tr><th>{benchWords.tool}</th><th>{benchWords.uncertainty}</th><th>{benchWords.resolution}</th></tr></thead>
            <tbody>
              {GAUGES.map((gauge) => (
                <tr key={gauge}>
                  <th scope="row">{benchWords.tools[gauge]}</th>
                  <td>{field(`${gauge} u`, `${benchWords.tools[gauge]}: ${benchWords.uncertainty}`, { hideLabel: true })}</td>
                  <td>{field(`${gauge} resolution`, `${benchWords.tools[gauge]}: ${benchWords.resolution}`, { hideLabel: true })}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        <p class="quiet">{benchWords.toolsHelp}</p>
        <div class="care">
          {field("pressure resolution", benchWords.pressureStep)}
          {field("pressure gain", benchWords.pressureGain)}
        </div>
        {faults.length > 0 && <p class="fault" role="alert">{shopWords.faults(faults.length)}</p>}
        <SaveFoot act={act} saved={saved} onReload={() => void look()} />
      </form>}
    </details>
  );
}

/** A field of the sheet as its label says it. */
function fieldWords(field: string): string {
  const fields: Record<string, string> = {
    ...Object.fromEntries(SLIDES.flatMap((kind) => benchWords.upTo.map((one, at) => [`${kind} ${at}`, `${words.fits.kinds[kind]}: ${one}`]))),
    ...Object.fromEntries(GAUGES.flatMap((gauge) => [[`${gauge} u`, `${benchWords.tools[gauge]}: ${benchWords.uncertainty}`], [`${gauge} resolution`, `${benchWords.tools[gauge]}: ${benchWords.resolution}`]])),
    "shank taper": benchWords.taper, "shank tolerance": benchWords.tolerance, "pressure resolution": benchWords.pressureStep, "pressure gain": benchWords.pressureGain,
  };
  return fields[field] ?? field;
}
