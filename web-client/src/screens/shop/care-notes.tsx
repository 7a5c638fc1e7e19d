import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { CareNote, Family, Shop } from "../../api/shapes";
import { AreaField } from "../../elements/form";
import { faultAt, useAct } from "../../elements/use-act";
import { careNotesEdit } from "../../shop/care-notes";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";
import { SaveFoot } from "./save-foot";

/** What the pickup e-mail says of looking after an instrument: typical words, or the shop's own. */
export function CareNotes({ shop, onShop, onReload }: { shop: Shop; onShop: (shop: Shop) => void; onReload: () => void }) {
  const act = useAct();
  const [draft, setDraft] = useState<Partial<Record<Family, string>>>({});
  const [saved, setSaved] = useState(false);
  const edit = careNotesEdit(shop.care_notes, draft);
  async function send(care_notes: typeof edit) {
    await act.run(() => calls.shop.edit({ care_notes }, shop.version), (next) => {
      setDraft({});
      setSaved(true);
      onShop(next);
    });
  }
  return (
    <details class="sheet">
      <summary>{shopWords.care}</summary>
      <form class="stack" aria-label={shopWords.care} onSubmit={(event) => {
        event.preventDefault();
        if (Object.keys(edit).length === 0) setSaved(true);
        else void send(edit);
      }}>
        <p class="quiet">{shopWords.careHelp}</p>
        <div class="care">
          {shop.care_notes.map((one) => <Note key={one.family} note={one} typed={draft[one.family]} fault={faultAt(act.refusal, `/care_notes/${one.family}`)} busy={act.busy} onTyped={(text) => { setSaved(false); setDraft((old) => ({ ...old, [one.family]: text })); }} onTypical={() => void send({ [one.family]: null })} />)}
        </div>
        <SaveFoot act={act} saved={saved} onReload={onReload} />
      </form>
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
