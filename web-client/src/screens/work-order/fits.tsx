import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { FitAnswer, FitKind, FitMeasured } from "../../api/shapes";
import { Button } from "../../elements/button";
import { AreaField, isOneOf, Options, SelectField, TextField } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import { useAct, type Refusal } from "../../elements/use-act";
import { useOrderMap } from "../../elements/use-order-map";
import { momentWords } from "../../shop/dates";
import { firstFitKind, fitPlaces } from "../../shop/fit-places";
import { readDecimal } from "../../shop/quote-draft";
import { readPoints, readShank, readStations } from "../../shop/typed-fit";
import { withUncertainty } from "../../shop/uncertain";
import { parts, partWords, shopHere } from "../../store";
import { words } from "../../words";
import type { PartProps } from "../work-order";

const REST_MS = 400;
const KINDS = { ...words.fits.kinds, roundness: words.fits.roundness };

/** How slides, valves, shanks and tenons fit: what was measured, and what it says. */
export function Fits({ order, reload }: PartProps) {
  const [open, setOpen] = useState(false);
  return (
    <div class="stack">
      <h2>{words.fits.title}</h2>
      {order.fit_checks.length === 0 && !open && <p class="quiet">{words.fits.none}</p>}
      <ol class="tests">
        {order.fit_checks.toReversed().map((check) => (
          <li key={check.id}>
            <Verdict answer={check.answer} />
            <span>
              <b>{isRoundness(check.answer) ? words.fits.roundness : words.fits.kinds[check.fit_kind]}</b> · {partWords(order.instrument.family, check.part)} · {saysOf(check.answer)}{check.note ? ` · ${check.note}` : ""}
              <br /><span class="quiet">{words.testsTab.by(check.by.name, momentWords(check.at, shopHere().time_zone, new Date()))}</span>
            </span>
          </li>
        ))}
      </ol>
      {open ? <FitForm order={order} reload={reload} onClose={() => setOpen(false)} />
        : order.stage !== "closed" && <div><button type="button" class="btn" onClick={() => setOpen(true)}>{words.fits.measure}</button></div>}
    </div>
  );
}

/** Points all round one section say nothing of a fit. */
function isRoundness({ slide, shank, circle }: FitAnswer): boolean {
  return circle != null && slide == null && shank == null;
}

function Verdict({ answer }: { answer: FitAnswer }) {
  return answer.verdict == null ? <span class="verdict none">{words.fits.noLimits}</span> : <span class={answer.verdict === "not_decidable" ? "verdict not_decidable" : "verdict"}>{words.fits.verdicts[answer.verdict]}</span>;
}

/** The figures behind the verdict, in one line. */
function saysOf({ slide, shank, circle, could_be }: FitAnswer): string {
  const said: string[] = [];
  if (slide != null) {
    const { value, uncertainty } = withUncertainty(slide.least_clearance_mm, slide.expanded_uncertainty_mm);
    said.push(words.fits.clearance(value, uncertainty, String(Math.round(slide.least_at_mm))));
    const oval = Math.max(...slide.inner.map((one) => one.ovality_mm), ...slide.outer.map((one) => one.ovality_mm));
    said.push(words.fits.oval(oval.toFixed(3)));
  }
  if (shank != null) {
    // A standard uncertainty is told as the 19-of-20 range: about twice it.
    const { value, uncertainty } = withUncertainty(shank.taper_mm_per_mm, 2 * shank.u_taper_mm_per_mm);
    said.push(words.fits.taper(value, uncertainty, shank.one_in == null ? undefined : shank.one_in.toFixed(1)));
    if (shank.insertion_mm != null) said.push(words.fits.insertion(withUncertainty(shank.insertion_mm, 2 * (shank.u_insertion_mm ?? 0)).value));
  }
  // A range over more than one verdict is told beside every verdict, not only where none could be said.
  if (circle != null) said.push(words.fits.round(circle.roundness_mm.toFixed(3), circle.diameter_mm.toFixed(3)));
  if (could_be.length > 1) said.push(words.fits.couldBe(could_be.map((one) => words.fits.verdicts[one].toLowerCase())));
  return said.join(" · ");
}

function FitForm({ order, reload, onClose }: PartProps & { onClose: () => void }) {
  const act = useAct();
  const { map } = useOrderMap(order);
  const listed = parts.value.get(order.instrument.family) ?? [];
  const [picked, setKind] = useState<FitKind | "roundness">();
  const kind = picked ?? (map === undefined ? "tuning_slide" : firstFitKind(map.map));
  const isRound = kind === "roundness";
  const places = map === undefined ? { fitting: [], others: listed.map((one) => ({ id: one.name, name: one.name })) }
    : isRound ? { fitting: [], others: map.map.parts.filter((one) => !one.struck_reason).map(({ id, name }) => ({ id, name })) } : fitPlaces(map.map, kind);
  // Where there is one such place only, it is that one; else nobody has said yet which.
  const [named, setPart] = useState<string>();
  const part = named ?? (places.fitting.length === 1 ? places.fitting[0]?.name ?? "" : "");
  const [partMissing, setPartMissing] = useState(false);
  const [around, setAround] = useState("");
  const [inner, setInner] = useState("");
  const [outer, setOuter] = useState("");
  const [receiver, setReceiver] = useState("");
  const [note, setNote] = useState("");
  const [told, setTold] = useState<{ measured: FitMeasured; answer: FitAnswer }>();
  const [refusal, setRefusal] = useState<Refusal>();
  const isShank = kind === "shank";
  const [readInner, readOuter] = isShank ? [readShank(inner), { stations: [] }] : [readStations(inner), readStations(outer)];
  const points = readPoints(around);
  const mouth = readDecimal(receiver, 3);
  const measured = measuredOf();
  function measuredOf(): FitMeasured | undefined {
    if (isRound) return "line" in points || points.points.length < 3 ? undefined : { points_mm: points.points };
    if (isShank) {
      const read = readShank(inner);
      return "line" in read || read.stations.length < 2 ? undefined : { stations: read.stations, ...(mouth === undefined ? {} : { receiver_diameter_mm: Number(mouth) }) };
    }
    const [within, around] = [readStations(inner), readStations(outer)];
    return "line" in within || "line" in around || within.stations.length === 0 || around.stations.length === 0 ? undefined : { inner: within.stations, outer: around.stations };
  }
  // A section's roundness belongs to no kind of fit; the first one stands for it.
  const fit_kind = isRound ? "tuning_slide" : kind;
  const asked = JSON.stringify({ kind, measured });
  useEffect(() => {
    setTold(undefined);
    setRefusal(undefined);
    if (measured === undefined) return;
    const ending = new AbortController();
    const timer = setTimeout(() => {
      void calls.fits.preview(order.id, { fit_kind, measured }, ending.signal).then((answer) => {
        if (ending.signal.aborted) return;
        if (answer.kind === "ok") setTold({ measured, answer: answer.value });
        else setRefusal(answer);
      });
    }, REST_MS);
    return () => {
      clearTimeout(timer);
      ending.abort();
    };
  }, [asked]);
  const bad = (read: object) => ("line" in read && typeof read.line === "number" ? words.fits.badLine(read.line) : undefined);
  const option = (one: { id: string; name: string }) => <option key={one.id} value={one.name} selected={one.name === part}>{one.name}</option>;
  return (
    <form class="form" aria-label={words.fits.measure} onSubmit={(event) => {
      event.preventDefault();
      setPartMissing(part === "");
      if (told === undefined || part === "") return;
      void act.run((once) => calls.fits.add(order.id, { fit_kind, part, measured: told.measured, ...(note.trim() === "" ? {} : { note: note.trim() }) }, once), async () => {
        await reload();
        onClose();
      });
    }}>
      <div class="cols aligned">
        <SelectField label={words.fits.kind} value={kind} onInput={(event) => {
          const { value } = event.currentTarget;
          if (isOneOf<FitKind | "roundness">(KINDS, value)) setKind(value);
          setPart(undefined);
        }}><Options of={KINDS} chosen={kind} /></SelectField>
        <SelectField label={words.fits.where} value={part} fault={partMissing && part === "" ? words.findingsTab.partMissing(false) : undefined} onInput={(event) => setPart(event.currentTarget.value)}>
          <option value="">{words.findingsTab.partChoose}</option>
          {places.fitting.map(option)}
          {places.fitting.length > 0 ? <optgroup label={words.fits.elsewhere}>{places.others.map(option)}</optgroup> : places.others.map(option)}
        </SelectField>
      </div>
      {isRound ? <AreaField label={words.fits.points} help={words.fits.pointsHelp} rows={6} value={around} fault={bad(points)} onInput={(event) => setAround(event.currentTarget.value)} />
      : <>
      <AreaField label={isShank ? words.fits.shank : words.fits.inner} help={isShank ? words.fits.shankHelp : words.fits.help} rows={4} value={inner} fault={bad(readInner)} onInput={(event) => setInner(event.currentTarget.value)} />
      {isShank
        ? <TextField label={words.fits.receiver} inputMode="decimal" value={receiver} onInput={(event) => setReceiver(event.currentTarget.value)} />
        : <AreaField label={words.fits.outer} rows={4} value={outer} fault={bad(readOuter)} onInput={(event) => setOuter(event.currentTarget.value)} />}
      </>}
      <RefusalNote refusal={refusal} />
      {told !== undefined && (
        <div class="pressure" role="status">
          <div class="pressure-head"><Verdict answer={told.answer} /><b>{saysOf(told.answer)}</b></div>
          {told.answer.notes.map((one) => <p key={one}>{one}</p>)}
          {told.answer.defaulted.length > 0 && <p class="quiet">{words.fits.typical}</p>}
        </div>
      )}
      <TextField label={words.testsTab.note} value={note} onInput={(event) => setNote(event.currentTarget.value)} />
      <RefusalNote refusal={act.refusal} onReload={() => void reload().then(act.clear)} />
      <div class="foot">
        <button type="button" class="btn" onClick={onClose}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy} disabled={told === undefined}>{words.fits.record}</Button>
      </div>
    </form>
  );
}
