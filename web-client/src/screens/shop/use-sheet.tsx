import type { VNode } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Answer } from "../../api/answer";
import { StalePanel } from "../../elements/stale-panel";
import { useAct, type Act } from "../../elements/use-act";
import { asChosen, mergeFields, same, type Fields } from "../../shop/merge-fields";

type About<V, D, F> = {
  /** As the screen knows it now; a sheet beside this one may have raised its version. */
  value: V;
  draftOf: (value: V) => D;
  fieldsOf: (draft: D) => Fields;
  draftFrom: (fields: Fields) => D;
  /** What is sent for a draft, given what it was drawn from; or what is wrong with it. */
  read: (draft: D, shown: V) => { send: (seen: number) => Promise<Answer<V>> } | { faults: F[] };
  fetch: () => Promise<Answer<V>>;
  onSaved: (value: V) => void;
  /** What it is called where somebody else changed it meanwhile. */
  what: string;
  /** A field, and a value of it, in words. */
  fieldWords: (field: string) => string;
  show: (field: string, value: unknown) => string;
};

/**
 * A sheet of settings while it is typed. Where somebody saved it meanwhile nothing is overwritten
 * unseen: what only they changed is taken over and told, what both changed is asked about.
 */
export function useSheet<V extends { version: number }, D, F>(about: About<V, D, F>): {
  draft: D;
  change: (next: (old: D) => D) => void;
  faults: readonly F[];
  saved: boolean;
  act: Act;
  save: (event: Event) => void;
  /** Sends something of its own beside what is typed; `left` is what then is still to be saved. */
  sendApart: (send: (seen: number) => Promise<Answer<V>>, left: D) => Promise<void>;
  /** Fetches how it stands now, where the first try at that failed. */
  look: () => Promise<void>;
  /** Stands in place of the sheet while something is to be chosen. */
  panel: VNode | undefined;
} {
  const { value, draftOf, fieldsOf, draftFrom } = about;
  const act = useAct();
  const [shown, setShown] = useState(value);
  const [draft, setDraft] = useState(() => draftOf(value));
  const [faults, setFaults] = useState<readonly F[]>([]);
  const [saved, setSaved] = useState(false);
  const [current, setCurrent] = useState<V>();
  const laid = (mine: D, next: V) => mergeFields(fieldsOf(draftOf(shown)), fieldsOf(mine), fieldsOf(draftOf(next)));
  useEffect(() => {
    if (value.version <= shown.version) return;
    const { merged, both } = laid(draft, value);
    // What both changed is asked about when it is saved: the version that was seen is then the old one.
    if (both.length > 0) return;
    setShown(value);
    setDraft(draftFrom(merged));
  }, [value.version]);
  async function look() {
    const answer = await about.fetch();
    if (answer.kind === "ok") setCurrent(answer.value);
  }
  async function send(mine: D, over: V) {
    const read = about.read(mine, over);
    setFaults("faults" in read ? read.faults : []);
    if ("faults" in read) return;
    await act.run(() => read.send(over.version), (next) => {
      setShown(next);
      // What was typed while it was under way stays.
      setDraft((now) => draftFrom(mergeFields(fieldsOf(mine), fieldsOf(now), fieldsOf(draftOf(next))).merged));
      setSaved(true);
      about.onSaved(next);
    });
    if (act.refusal?.kind === "stale") await look();
  }
  async function sendApart(ask: (seen: number) => Promise<Answer<V>>, left: D) {
    await act.run(() => ask(shown.version), (next) => {
      const { merged } = laid(left, next);
      setShown(next);
      setDraft(draftFrom(merged));
      setSaved(true);
      about.onSaved(next);
    });
    if (act.refusal?.kind === "stale") await look();
  }
  async function settle(next: V, chosen: Fields) {
    const mine = draftFrom(chosen);
    setShown(next);
    setDraft(mine);
    setCurrent(undefined);
    act.clear();
    if (same(chosen, fieldsOf(draftOf(next)))) about.onSaved(next);
    else await send(mine, next);
  }
  function panelOf(next: V): VNode | undefined {
    if (act.refusal?.kind !== "stale") return undefined;
    const found = laid(draft, next);
    const theirs = fieldsOf(draftOf(next));
    return (
      <StalePanel
        key={next.version}
        stale={{ ...act.refusal.current, differences: found.both }}
        what={about.what}
        show={about.show}
        name={about.fieldWords}
        taken={found.theirs.map((field) => `${about.fieldWords(field)}: ${about.show(field, theirs[field])}`)}
        busy={act.busy}
        onChosen={(mine) => void settle(next, asChosen(found, mine))}
      />
    );
  }
  return {
    draft, faults, saved, act, look, sendApart,
    change: (next) => {
      setSaved(false);
      setDraft(next);
    },
    save: (event) => {
      event.preventDefault();
      void send(draft, shown);
    },
    panel: current === undefined ? undefined : panelOf(current),
  };
}
