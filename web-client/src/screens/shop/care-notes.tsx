import * as calls from "../../api/calls";
import type { CareNote, Shop } from "../../api/shapes";
import { AreaField } from "../../elements/form";
import { plainWords } from "../../elements/stale-panel";
import { faultAt } from "../../elements/use-act";
import { careNotesEdit } from "../../shop/care-notes";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { SaveFoot } from "./save-foot";
import { useSheet } from "./use-sheet";

/** What the pickup e-mail says of looking after an instrument: typical words, or the shop's own. */
export function CareNotes({ shop, onShop }: { shop: Shop; onShop: (shop: Shop) => void }) {
  const { draft, change, saved, act, save, look, sendApart, panel } = useSheet<Shop, Record<string, string>, never>({
    value: shop,
    draftOf: (of) => Object.fromEntries(of.care_notes.map((one) => [one.family, one.words])),
    fieldsOf: (typed) => typed,
    draftFrom: (fields) => Object.fromEntries(Object.entries(fields).map(([family, typed]) => [family, String(typed ?? "")])),
    read: (typed, shown) => ({ send: (seen) => calls.shop.edit({ care_notes: careNotesEdit(shown.care_notes, typed) }, seen) }),
    fetch: calls.shop.get,
    onSaved: onShop,
    what: words.stale.settings,
    fieldWords: (field) => shop.care_notes.flatMap((one) => (one.family === field ? [words.families[one.family]] : []))[0] ?? field,
    show: (_, value) => plainWords(value),
  });
  return (
    <details class="sheet">
      <summary>{shopWords.care}</summary>
      {panel ?? <form class="stack" aria-label={shopWords.care} onSubmit={save}>
        <p class="quiet">{shopWords.careHelp}</p>
        <div class="care">
          {shop.care_notes.map((one) => <Note key={one.family} note={one} typed={draft[one.family]} fault={faultAt(act.refusal, `/care_notes/${one.family}`)} busy={act.busy} onTyped={(text) => change((old) => ({ ...old, [one.family]: text }))} onTypical={() => void sendApart((seen) => calls.shop.edit({ care_notes: { [one.family]: null } }, seen), { ...draft, [one.family]: one.words })} />)}
        </div>
        <SaveFoot act={act} saved={saved} onReload={() => void look()} />
      </form>}
    </details>
  );
}

function Note({ note, typed, fault, busy, onTyped, onTypical }: { note: CareNote; typed: string | undefined; fault: string | undefined; busy: boolean; onTyped: (text: string) => void; onTypical: () => void }) {
  const value = typed ?? note.words;
  return (
    <div>
      <AreaField
        label={words.families[note.family]}
        help={value.trim() === "" ? shopWords.careNothing : note.kind === "own" || value !== note.words ? shopWords.careOwn : shopWords.careTypical}
        rows={7}
        value={value}
        fault={fault}
        onInput={(event) => onTyped(event.currentTarget.value)}
      />
      {note.kind === "own" && <button type="button" class="link" disabled={busy} aria-label={shopWords.careAgainNamed(words.families[note.family])} onClick={onTypical}>{shopWords.careAgain}</button>}
    </div>
  );
}
