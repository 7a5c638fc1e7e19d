import * as calls from "../../api/calls";
import type { Family, Shop } from "../../api/shapes";
import { keysOf, TextField } from "../../elements/form";
import { plainWords } from "../../elements/stale-panel";
import { fieldsOfLimits, limitsFrom, limitsOf, readLimits, type LimitDraft, type LimitFault } from "../../shop/leak-limits";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { SaveFoot } from "./save-foot";
import { useSheet } from "./use-sheet";

const FAMILIES = keysOf<Family>(words.families);

/** How much an instrument may leak, and how much air it holds: what a pressure test is judged by. */
export function Limits({ shop, onShop }: { shop: Shop; onShop: (shop: Shop) => void }) {
  const { draft, change, faults, saved, act, save, look, panel } = useSheet<Shop, LimitDraft, LimitFault>({
    value: shop,
    draftOf: (of) => limitsOf(of.test_settings, FAMILIES),
    fieldsOf: fieldsOfLimits,
    draftFrom: (fields) => limitsFrom(fields, FAMILIES),
    read: (typed, shown) => {
      const read = readLimits(typed, shown.test_settings);
      return "faults" in read ? read : { send: (seen) => calls.shop.edit({ test_settings: read.settings }, seen) };
    },
    fetch: calls.shop.get,
    onSaved: onShop,
    what: words.stale.settings,
    fieldWords: (field) => {
      const [family, which] = field.split(" ");
      return `${FAMILIES.flatMap((one) => (one === family ? [words.families[one]] : [])).join("")}: ${which === "limit" ? shopWords.limit : shopWords.space}`;
    },
    show: (_, value) => plainWords(value),
  });
  const set = (family: Family, part: { limit?: string; space?: string }) => change((old) => ({ ...old, [family]: { ...old[family], ...part } }));
  const wrong = (family: Family, field: "limit" | "space") => (faults.some((one) => one.family === family && one.field === field) ? shopWords.noMillilitres : undefined);
  return (
    <details class="sheet">
      <summary>{shopWords.limits}</summary>
      {panel ?? <form class="stack" aria-label={shopWords.limits} onSubmit={save}>
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
        <SaveFoot act={act} saved={saved} onReload={() => void look()} />
      </form>}
    </details>
  );
}
