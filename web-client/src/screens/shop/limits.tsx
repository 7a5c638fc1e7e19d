import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Family, Shop } from "../../api/shapes";
import { keysOf, TextField } from "../../elements/form";
import { useAct } from "../../elements/use-act";
import { limitsOf, readLimits, type LimitFault } from "../../shop/leak-limits";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { SaveFoot } from "./save-foot";

const FAMILIES = keysOf<Family>(words.families);

/** How much an instrument may leak, and how much air it holds: what a pressure test is judged by. */
export function Limits({ shop, onShop, onReload }: { shop: Shop; onShop: (shop: Shop) => void; onReload: () => void }) {
  const act = useAct();
  const [draft, setDraft] = useState(() => limitsOf(shop.test_settings, FAMILIES));
  const [faults, setFaults] = useState<LimitFault[]>([]);
  const [saved, setSaved] = useState(false);
  const set = (family: Family, change: { limit?: string; space?: string }) => {
    setSaved(false);
    setDraft((old) => ({ ...old, [family]: { ...old[family], ...change } }));
  };
  const wrong = (family: Family, field: "limit" | "space") => (faults.some((one) => one.family === family && one.field === field) ? shopWords.noMillilitres : undefined);
  async function save(event: Event) {
    event.preventDefault();
    const read = readLimits(draft, shop.test_settings);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) return;
    await act.run(() => calls.shop.edit({ test_settings: read.settings }, shop.version), (next) => {
      setDraft(limitsOf(next.test_settings, FAMILIES));
      setSaved(true);
      onShop(next);
    });
  }
  return (
    <details class="sheet">
      <summary>{shopWords.limits}</summary>
      <form class="stack" aria-label={shopWords.limits} onSubmit={(event) => void save(event)}>
        <p class="quiet">{shopWords.limitsHelp}</p>
        <table class="bill limits">
          <thead><tr><th>{words.checkIn.family}</th><th>{shopWords.limit}</th><th>{shopWords.space}</th></tr></thead>
          <tbody>
            {FAMILIES.map((family) => (
              <tr key={family}>
                <th scope="row">{words.families[family]}</th>
                <td><TextField label={`${words.families[family]}: ${shopWords.limit}`} hideLabel class="num" inputMode="decimal" value={draft[family].limit} fault={wrong(family, "limit")} onInput={(event) => set(family, { limit: event.currentTarget.value })} /></td>
                <td><TextField label={`${words.families[family]}: ${shopWords.space}`} hideLabel class="num" inputMode="decimal" value={draft[family].space} fault={wrong(family, "space")} onInput={(event) => set(family, { space: event.currentTarget.value })} /></td>
              </tr>
            ))}
          </tbody>
        </table>
        <SaveFoot act={act} saved={saved} onReload={onReload} />
      </form>
    </details>
  );
}
