import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Shop } from "../../api/shapes";
import { TextField } from "../../elements/form";
import { useAct } from "../../elements/use-act";
import { fitLimitsOf, GAUGES, readFitLimits, SLIDES } from "../../shop/fit-limits";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { benchWords } from "../../words/en-bench";
import { SaveFoot } from "./save-foot";

/** By what a fit is judged, and what the tools can do that it is measured with. */
export function FitLimits({ shop, onShop, onReload }: { shop: Shop; onShop: (shop: Shop) => void; onReload: () => void }) {
  const act = useAct();
  const [draft, setDraft] = useState(() => fitLimitsOf(shop.test_settings));
  const [faults, setFaults] = useState<readonly string[]>([]);
  const [saved, setSaved] = useState(false);
  async function save(event: Event) {
    event.preventDefault();
    const read = readFitLimits(draft, shop.test_settings);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) return;
    await act.run(() => calls.shop.edit({ test_settings: read.settings }, shop.version), (next) => {
      setDraft(fitLimitsOf(next.test_settings));
      setSaved(true);
      onShop(next);
    });
  }
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
        setSaved(false);
        setDraft((old) => ({ ...old, [name]: value }));
      }}
    />
  );
  return (
    <details class="sheet">
      <summary>{benchWords.fits}</summary>
      <form class="stack" aria-label={benchWords.fits} onSubmit={(event) => void save(event)}>
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
        <SaveFoot act={act} saved={saved} onReload={onReload} />
      </form>
    </details>
  );
}
