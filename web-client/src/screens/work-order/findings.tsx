import type { ComponentChildren } from "preact";
import lazy from "preact-iso/lazy";
import { useLocation } from "preact-iso/router";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { Disposition, Finding, FindingEdit, OrderMap, Stale } from "../../api/shapes";
import { Button } from "../../elements/button";
import { findingWords, placeWords, useFindingFields } from "../../elements/finding-form";
import { MeasurePanel } from "../../elements/measure-panel";
import { PartMapView, type MapPlace } from "../../elements/part-map";
import { PhotoPick } from "../../elements/photo-pick";
import { PhotoStrip, seen } from "../../elements/photo-strip";
import { PhotosChosen } from "../../elements/photos-chosen";
import { ReasonPicker } from "../../elements/reason-picker";
import { RefusalNote } from "../../elements/refusal-note";
import { plainWords, StalePanel } from "../../elements/stale-panel";
import { useAct } from "../../elements/use-act";
import { useOrderMap } from "../../elements/use-order-map";
import { keepFinding } from "../../kept";
import { post } from "../../photo-post";
import { dayWords, momentWords } from "../../shop/dates";
import { instrumentWords } from "../../shop/instrument";
import { standing } from "../../shop/stale-choice";
import { partWords, shopHere } from "../../store";
import { words } from "../../words";
import { mapWords } from "../../words/en-map";
import type { PartProps } from "../work-order";

const CHOICES = ["repair", "leave_and_watch", "another_visit", "declined"] as const satisfies readonly Disposition[];

/** What the examination turned up, and what is to be done about it. */
export function FindingsPart({ order, reload, children }: PartProps & { children?: ComponentChildren }) {
  const { map, fetchMap } = useOrderMap(order);
  const shown = order.findings.filter((one) => !one.struck_reason);
  const struck = order.findings.filter((one) => one.struck_reason);
  const undecided = shown.findLast((one) => one.disposition === "undecided");
  const [inHand, setInHand] = useState<string | undefined>(undecided?.id);
  // The address alone says whether a new finding is being written, so that the foot opens it every time.
  const { path, query, route } = useLocation();
  const adding = query["new"] === "finding" && order.stage !== "closed";
  const setAdding = (on: boolean) => route(on ? `${path}?new=finding` : path, !on);
  const isAtFoot = order.stage === "intake" || order.stage === "diagnosis";
  const [picked, setPicked] = useState<MapPlace>();
  // What can be measured opens under the map, which may fill the window.
  const measuring = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => measuring.current?.scrollIntoView({ block: "nearest" }), [picked?.id]);
  // The one in hand comes first: it is what is being decided.
  const listed = [...shown].sort((a, b) => rank(a, inHand) - rank(b, inHand) || a.number - b.number);
  const list = (
    <>
      {shown.length === 0 && !adding && <div class="sheet"><b>{words.findingsTab.none}</b> {words.findingsTab.noneMore}</div>}
      {adding ? (
        <NewFindingForm order={order} reload={reload} map={map} picked={picked} onClose={(id) => { setAdding(false); setPicked(undefined); if (id !== undefined) setInHand(id); }} />
      ) : (
        order.stage !== "closed" && !isAtFoot && <button type="button" class="btn" onClick={() => setAdding(true)}>{words.findingsTab.add}</button>
      )}
      <ol class="flist">
        {listed.map((finding) => (
          <FindingLine key={finding.id} finding={finding} order={order} reload={reload} map={map} open={finding.id === inHand} onToggle={() => setInHand(finding.id === inHand ? undefined : finding.id)} />
        ))}
      </ol>
      {map !== undefined && <EarlierPins map={map} inHand={inHand} />}
      {struck.length > 0 && (
        <details>
          <summary>{words.findingsTab.struckList(struck.length)}</summary>
          <ul>{struck.map((one) => <li key={one.id}>{one.number}. {findingWords(one, partWords(order.instrument.family, one.part))}: {words.findingsTab.struck(one.struck_reason ?? "")}</li>)}</ul>
        </details>
      )}
    </>
  );
  if (map === undefined) return <section class="part" aria-label={words.order.tab.findings}>{children}{list}</section>;
  return (
    <>
      <section class="part" aria-label={words.order.tab.findings}>
        {children}
        <PartMapView
          drawing={map.drawing}
          label={words.map.label(instrumentWords(order.instrument, words.families))}
          pinNow={inHand}
          partNow={picked?.id}
          places={map.map}
          found={foundOn(shown)}
          onPin={(id) => setInHand(id === inHand ? undefined : id)}
          onPlace={setPicked}
        >
          {adding ? words.map.tap : words.map.note} {adding ? "" : words.map.tapMeasure}
          {map.loose_parts.length > 0 && ` ${words.map.loose(map.map.parts.filter((one) => map.loose_parts.includes(one.id)).map((one) => one.name))}`}
        </PartMapView>
        {picked !== undefined && !adding && order.stage !== "closed" && <div ref={measuring}><MeasurePanel map={map} place={picked} onMap={fetchMap} onClose={() => setPicked(undefined)} /></div>}
        {!adding && order.stage !== "closed" && <EditMap map={map} onMap={fetchMap} onPlace={setPicked} />}
      </section>
      <section class="beside" aria-label={words.findingsTab.list}>{list}</section>
    </>
  );
}

const MapEditing = lazy(() => import("../../elements/map-editing").then((editing) => editing.MapEditing));

/** What is missing on the map, or should not be there: fetched when somebody wants it. */
function EditMap(about: { map: OrderMap; onMap: () => Promise<void>; onPlace: (place: MapPlace) => void }) {
  const [open, setOpen] = useState(false);
  if (!open) return <button type="button" class="btn edit-map" onClick={() => setOpen(true)}>{mapWords.edit}</button>;
  return <MapEditing {...about} onClose={() => setOpen(false)} />;
}

/** The parts on which something was found; a word for several of them, such as pads, names none. */
function foundOn(findings: readonly Finding[]): string[] {
  return findings.flatMap(({ part, pinned_to: at }) => (at?.on === "part" && (part === at.name || part === at.id) ? [at.id] : []));
}

/** What earlier visits found: what is watched comes first. */
function EarlierPins({ map, inHand }: { map: OrderMap; inHand: string | undefined }) {
  const earlier = map.pins.filter((pin) => pin.standing !== "this_visit");
  if (earlier.length === 0) return null;
  return (
    <div class="sheet stack">
      <h2>{words.map.earlier}</h2>
      <ul class="earlier-pins">
        {earlier.map((pin) => (
          <li key={pin.finding_id} class={pin.finding_id === inHand ? "now" : ""}>
            <b>{pin.head}</b> {pin.words} <span class="quiet">{[pin.standing === "watched" ? words.map.standing.watched : words.map.standing.settled, words.map.found(pin.claim_number, dayWords(pin.found_on)), ...(pin.pinned_to == null ? [words.map.notDrawn] : [])].join(" · ")}</span>
          </li>
        ))}
      </ul>
    </div>
  );
}

function rank(finding: Finding, inHand: string | undefined): number {
  return finding.id === inHand ? 0 : finding.disposition === "undecided" ? 1 : 2;
}

function FindingLine({ finding, order, reload, map, open, onToggle }: PartProps & { finding: Finding; map: OrderMap | undefined; open: boolean; onToggle: () => void }) {
  const part = partWords(order.instrument.family, finding.part);
  const zone = shopHere().time_zone;
  const place = placeWords(finding, map?.map);
  const about = [
    ...(place === undefined ? [] : [place]),
    words.leaks[finding.leaks],
    ...(finding.likely_to_spread ? [words.findingsTab.spreads] : []),
    ...(finding.note ? [finding.note] : []),
    ...(finding.disposition === "undecided" ? [`${words.foundWhen[finding.found_when]}, ${momentWords(finding.found_at, zone, new Date())}`] : [words.dispositions[finding.disposition].toLowerCase()]),
    ...(finding.disposition_reason ? [finding.disposition_reason] : []),
  ];
  return (
    <li class={open ? "now" : ""}>
      <button type="button" class="line" aria-expanded={open} onClick={onToggle}>
        <span class="n"><span class={`key ${finding.disposition}`} aria-hidden="true" />{finding.number}</span>
        <b>{findingWords(finding, part)}</b>
        <span class="q">{about.join(" · ")}</span>
      </button>
      {open && <FindingOpen finding={finding} order={order} reload={reload} map={map} />}
    </li>
  );
}

/** The finding in hand: its four choices with the suggestion and its reason, and its measures. */
function FindingOpen({ finding, order, reload, map }: PartProps & { finding: Finding; map: OrderMap | undefined }) {
  const act = useAct();
  const [asking, setAsking] = useState<"against" | "strike">();
  const [wanted, setWanted] = useState<Disposition>();
  const [editing, setEditing] = useState(false);
  // What is typed goes by the finding as it was then: the order is fetched again while the form is open.
  const [opened, setOpened] = useState(finding.version);
  const [tried, setTried] = useState<FindingEdit>({});
  const amended = useFindingFields({ family: order.instrument.family, stage: order.stage, finding, map: map?.map });
  const suggested = finding.suggestion.disposition;

  async function save(edit: FindingEdit, seen = finding.version) {
    setTried(edit);
    await act.run(() => calls.findings.edit(finding.id, edit, seen), async () => {
      setAsking(undefined);
      setEditing(false);
      await reload();
    });
  }
  function decide(disposition: Disposition) {
    if (disposition === finding.disposition) return;
    if (suggested !== "undecided" && disposition !== suggested) {
      setWanted(disposition);
      setAsking("against");
    } else {
      void save({ disposition });
    }
  }
  /** Sends again what shall stand as written here; what shall not is left as the other one wrote it. */
  function settle(stale: Stale, mine: ReadonlySet<string>) {
    const rest: FindingEdit = standing(tried, stale, mine);
    if (Object.keys(rest).length === 0) void reload().then(act.clear);
    else void save(rest, stale.current_version);
  }

  if (act.refusal?.kind === "stale") {
    const { current } = act.refusal;
    return <StalePanel stale={current} what={words.stale.finding(finding.number)} show={fieldWords} busy={act.busy} onChosen={(mine) => settle(current, mine)} />;
  }
  if (editing) {
    return (
      <form class="open" onSubmit={(event) => {
        event.preventDefault();
        const edit = amended.read(event.currentTarget);
        if (edit === undefined) return;
        const { found_when: _, ...rest } = edit;
        // A side that was taken back is told as none.
        void save({ ...rest, ...(finding.side && edit.side == null ? { side: "" } : {}) }, opened);
      }}>
        {amended.fields}
        <RefusalNote refusal={act.refusal} />
        <div class="row">
          <Button class="btn main" busy={act.busy}>{words.common.save}</Button>
          <button type="button" class="link" onClick={() => { act.clear(); setEditing(false); }}>{words.common.cancel}</button>
        </div>
      </form>
    );
  }
  const pictures = order.photos.filter((one) => one.finding_id === finding.id).flatMap((one) => seen(one, findingWords(finding, partWords(order.instrument.family, finding.part))));
  return (
    <div class="open">
      <div class="row">
        <PhotoPick onFiles={(files) => post(order.id, files, { finding_id: finding.id, shared: finding.shared })}>{finding.shared ? words.photos.ofFindingShared : words.photos.ofFinding}</PhotoPick>
        <PhotoStrip photos={pictures} />
      </div>
      {finding.suggestion.disposition !== "undecided" && <p><b>{words.findingsTab.suggested(words.dispositions[finding.suggestion.disposition].toLowerCase())}</b> {finding.suggestion.reason}</p>}
      {asking === "against" && wanted !== undefined ? (
        <ReasonPicker
          title={words.findingsTab.why(words.dispositions[wanted].toLowerCase())}
          reasons={words.findingsTab.against}
          busy={act.busy}
          onReason={(disposition_reason) => void save({ disposition: wanted, disposition_reason })}
          onLeave={() => setAsking(undefined)}
        />
      ) : (
        <div class="seg four" role="radiogroup" aria-label={words.findingsTab.decide}>
          {CHOICES.map((choice) => (
            <Button key={choice} type="button" class="btn" role="radio" aria-checked={choice === finding.disposition} busy={act.busy} onClick={() => decide(choice)}>
              <span class={`key ${choice}`} aria-hidden="true" /> {words.dispositions[choice]}
            </Button>
          ))}
        </div>
      )}
      <RefusalNote refusal={act.refusal} />
      {asking === "strike" ? (
        <ReasonPicker
          title={words.findingsTab.strikeWhy}
          reasons={words.findingsTab.strikeReasons}
          busy={act.busy}
          onReason={(struck_reason) => void save({ struck_reason })}
          onLeave={() => setAsking(undefined)}
        />
      ) : (
        <div class="row">
          <label class="check">
            <input type="checkbox" checked={finding.shared} {...(act.busy ? { "aria-disabled": "true" as const } : {})} onClick={(event) => { if (act.busy) event.preventDefault(); }} onInput={(event) => void save({ shared: event.currentTarget.checked })} /> {words.findingsTab.share}
          </label>
          <span class="grow quiet">{words.findingsTab.by(finding.found_by.name, momentWords(finding.found_at, shopHere().time_zone, new Date()))}</span>
          <button type="button" class="link" onClick={() => { setOpened(finding.version); setEditing(true); }}>{words.common.change}</button>
          <button type="button" class="link" onClick={() => setAsking("strike")}>{words.findingsTab.strike}</button>
        </div>
      )}
    </div>
  );
}

function fieldWords(field: string, value: unknown): string {
  if ((typeof value === "number" || typeof value === "string") && field.endsWith("_mm")) return words.common.millimetres(String(value));
  if (typeof value === "string") {
    const lists: Record<string, string>[] = [words.dispositions, words.leaks, words.foundWhen, words.findings];
    return lists.find((of) => Object.hasOwn(of, value))?.[value] ?? plainWords(value);
  }
  return plainWords(value);
}

function NewFindingForm({ order, reload, map, picked, onClose }: PartProps & { map: OrderMap | undefined; picked: MapPlace | undefined; onClose: (id?: string) => void }) {
  const act = useAct();
  const place = useRef<HTMLFormElement>(null);
  // On a narrow screen it opens below the map.
  useLayoutEffect(() => {
    const { top } = place.current?.getBoundingClientRect() ?? { top: 0 };
    if (top < 0 || top > window.innerHeight / 2) place.current?.scrollIntoView({ block: "start" });
  }, []);
  const [files, setFiles] = useState<File[]>([]);
  const written = useFindingFields({ family: order.instrument.family, stage: order.stage, map: map?.map, picked });
  async function save(event: SubmitEvent & { currentTarget: HTMLFormElement }) {
    event.preventDefault();
    const finding = written.read(event.currentTarget);
    if (finding === undefined) return;
    let key = "";
    await act.run(
      (once) => {
        key = once;
        return calls.findings.add(order.id, finding, once);
      },
      async (added) => {
        post(order.id, files, { finding_id: added.id, shared: added.shared });
        await reload();
        onClose(added.id);
      },
    );
    if (act.refusal?.kind === "away") {
      keepFinding(order.id, finding, key);
      // The finding has no name yet to pin them to; they wait until it has.
      post(order.id, files, {}, { finding, once: key, at: Date.now() });
      onClose();
    }
  }
  return (
    <form class="form" id="new-finding" aria-label={words.findingsTab.add} ref={place} onSubmit={(event) => void save(event)}>
      {written.fields}
      <PhotosChosen files={files} onFiles={setFiles}>{words.photos.withFinding}</PhotosChosen>
      <RefusalNote refusal={act.refusal} />
      <div class="foot">
        <button type="button" class="btn" onClick={() => onClose()}>{words.common.cancel}</button>
        <Button class="btn main" busy={act.busy}>{words.findingsTab.record}</Button>
      </div>
    </form>
  );
}
