import { Button } from "../../elements/button";
import { RefusalNote } from "../../elements/refusal-note";
import type { useAct } from "../../elements/use-act";
import { words } from "../../words";
import { shopWords } from "../../words/en-shop";

/** The foot of a sheet of settings: why it was not saved, or that it was, and the button. */
export function SaveFoot({ act, saved, onReload }: { act: ReturnType<typeof useAct>; saved: boolean; onReload: () => void }) {
  return (
    <>
      <RefusalNote refusal={act.refusal} onReload={() => { act.clear(); onReload(); }} />
      <div class="foot row">
        {saved && <span class="saved grow" role="status">{shopWords.saved}</span>}
        <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
      </div>
    </>
  );
}
