import { useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Photo, PhotoEdit, WorkOrder } from "../../api/shapes";
import { Button } from "../../elements/button";
import { findingWords } from "../../elements/finding-form";
import { SelectField, TextField, textIn } from "../../elements/form";
import { PhotoLarge } from "../../elements/photo-large";
import { PhotoPick } from "../../elements/photo-pick";
import { seen } from "../../elements/photo-strip";
import { Picture } from "../../elements/picture";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { faultAt, useAct } from "../../elements/use-act";
import { post } from "../../photo-post";
import { momentWords } from "../../shop/dates";
import { photoEdit } from "../../shop/photo-edit";
import { partWords, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

/** The finding a photo is pinned to, in words. */
function pinnedTo(order: WorkOrder, photo: Photo): string | undefined {
  const finding = order.findings.find((one) => one.id === photo.finding_id);
  return finding === undefined ? undefined : `${finding.number}. ${findingWords(finding, partWords(order.instrument.family, finding.part))}`;
}

/** Every photo of the visit: what is on it, which finding it shows, and who sees it. */
export function PhotosPart({ order, reload }: PartProps) {
  const [at, setAt] = useState<string>();
  const there = order.photos.filter((one) => !one.struck_reason);
  const struck = order.photos.filter((one) => one.struck_reason);
  const shown = there.flatMap((photo) => seen(photo, pinnedTo(order, photo)));
  return (
    <>
      <div class="row">
        <PhotoPick onFiles={(files) => post(order.id, files)}>{words.photos.choose}</PhotoPick>
        <p class="quiet grow">{words.photos.lead}</p>
      </div>
      {there.length === 0 && <div class="sheet"><b>{words.photos.none}</b> {words.photos.noneMore}</div>}
      <ol class="photo-cards">
        {there.map((photo) => <PhotoCard key={photo.id} photo={photo} order={order} reload={reload} onLarge={() => setAt(photo.id)} />)}
      </ol>
      {struck.length > 0 && (
        <details>
          <summary>{words.photos.struckList(struck.length)}</summary>
          <ul>
            {struck.map((one) => (
              <li key={one.id}>{words.photos.struck(one.caption || words.photos.untitled, one.struck_by?.name ?? "", one.struck_at ? momentWords(one.struck_at, shopHere().time_zone, new Date()) : "", one.struck_reason ?? "")}</li>
            ))}
          </ul>
        </details>
      )}
      {at !== undefined && <PhotoLarge photos={shown} at={at} onAt={setAt} onClose={() => setAt(undefined)} />}
    </>
  );
}

function PhotoCard({ photo, order, reload, onLarge }: PartProps & { photo: Photo; onLarge: () => void }) {
  const act = useAct();
  const [open, setOpen] = useState<"change" | "strike">();
  const pin = pinnedTo(order, photo);
  const small = seen(photo, pin)[0];
  // The one it is pinned to stays in the list, also when it was struck meanwhile.
  const findings = order.findings.filter((one) => !one.struck_reason || one.id === photo.finding_id);
  // What was changed is told by the photo as it was then: the order is fetched again while the form is open.
  const [was, setWas] = useState(photo);
  const turnTo = (next: typeof open) => {
    act.clear();
    setWas(photo);
    setOpen(next);
  };
  async function save(edit: PhotoEdit) {
    await act.run(() => calls.photos.edit(photo.id, edit, photo.version), async () => {
      setOpen(undefined);
      await reload();
    });
  }
  return (
    <li class={photo.shared ? "sheet shared" : "sheet"}>
      {small === undefined ? <span class="thumb-photo"><span class="picture absent">{words.photos.absent}</span></span> : (
        <button type="button" class="thumb-photo" onClick={onLarge}><Picture photo={photo.id} copy={small.small} alt={small.alt} /></button>
      )}
      <div class="stack">
        <p><b>{photo.caption || words.photos.untitled}</b></p>
        <p>{pin ?? words.photos.notPinned}</p>
        <p class={photo.shared ? "seen-by" : "quiet"}>{photo.shared ? words.photos.isShared : words.photos.notShared}</p>
        <p class="quiet">{words.photos.by(photo.by.name, momentWords(photo.at, shopHere().time_zone, new Date()))}</p>
        <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
        {open === "strike" ? (
          <ReasonPicker title={words.photos.strikeWhy} reasons={words.photos.strikeReasons} busy={act.busy} onReason={(struck_reason) => void save({ struck_reason })} onLeave={() => turnTo(undefined)} />
        ) : open === "change" ? (
          <form class="stack" onSubmit={(event) => {
            event.preventDefault();
            const form = event.currentTarget;
            const edit = photoEdit(was, { caption: textIn(form, "caption"), finding: textIn(form, "finding") });
            if (Object.keys(edit).length === 0) turnTo(undefined);
            else void save(edit);
          }}>
            <TextField label={words.photos.caption} name="caption" defaultValue={photo.caption ?? ""} fault={faultAt(act.refusal, "/caption")} />
            <SelectField label={words.photos.pin} name="finding" fault={faultAt(act.refusal, "/finding_id")}>
              <option value="">{words.photos.pinNone}</option>
              {findings.map((one) => <option key={one.id} value={one.id} selected={one.id === photo.finding_id}>{one.number}. {findingWords(one, partWords(order.instrument.family, one.part))}{one.struck_reason ? ` (${words.photos.pinStruck})` : ""}</option>)}
            </SelectField>
            <div class="row">
              <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
              <button type="button" class="link" onClick={() => turnTo(undefined)}>{words.common.cancel}</button>
            </div>
          </form>
        ) : (
          <div class="row">
            <Button type="button" class="btn" busy={act.busy} onClick={() => void save({ shared: !photo.shared })}>{photo.shared ? words.photos.unshare : words.photos.share}</Button>
            <button type="button" class="link" onClick={() => turnTo("change")}>{words.photos.change}</button>
            <button type="button" class="link" onClick={() => turnTo("strike")}>{words.photos.strike}</button>
          </div>
        )}
      </div>
    </li>
  );
}
