import { useEffect, useState } from "preact/hooks";
import * as calls from "../../api/calls";
import type { PressureAnswer, PressureTest, WorkOrder } from "../../api/shapes";
import { AreaField, TextField } from "../../elements/form";
import { RefusalNote } from "../../elements/refusal-note";
import type { Refusal } from "../../elements/use-act";
import { useWidth } from "../../elements/use-width";
import { bandPath, linePath, place, roundRange, ticksOf } from "../../shop/chart";
import { verdictWords } from "../../shop/pressure-verdict";
import { readDecimal } from "../../shop/quote-draft";
import { readTyped } from "../../shop/typed-readings";
import { plain, withUncertainty } from "../../shop/uncertain";
import { words } from "../../words";

const REST_MS = 400;

/** A pressure test as far as it was given, and what the server says of it. */
export type PressureHere = { body: PressureTest; answer: PressureAnswer };

/** The readings of a pressure decay test: the logger's file or typed, and what they say. Nothing is kept yet. */
export function PressureReadings({ order, onTold }: { order: WorkOrder; onTold: (told: PressureHere | undefined) => void }) {
  const [file, setFile] = useState<{ name: string; text: string }>();
  const [typing, setTyping] = useState(false);
  const [typed, setTyped] = useState("");
  const [volume, setVolume] = useState("");
  const [told, setTold] = useState<PressureHere>();
  const [refusal, setRefusal] = useState<Refusal>();
  const read = typing ? readTyped(typed) : { readings: [] };
  const millilitres = readDecimal(volume, 2);
  useEffect(() => {
    const tell = (next: PressureHere | undefined) => {
      setTold(next);
      onTold(next);
    };
    const body: PressureTest | undefined = file !== undefined ? { csv: file.text } : "readings" in read && read.readings.length > 0 ? { readings: read.readings } : undefined;
    setRefusal(undefined);
    if (body === undefined) {
      tell(undefined);
      return;
    }
    if (millilitres !== undefined) body.volume_m3 = Number(millilitres) / 1e6;
    const ending = new AbortController();
    const timer = setTimeout(() => {
      void calls.tests.preview(order.id, body, ending.signal).then((answer) => {
        if (ending.signal.aborted) return;
        tell(answer.kind === "ok" ? { body, answer: answer.value } : undefined);
        setRefusal(answer.kind === "ok" ? undefined : answer);
      });
    }, file === undefined ? REST_MS : 0);
    return () => {
      clearTimeout(timer);
      ending.abort();
    };
  }, [file, typing, typed, millilitres]);
  async function take(input: HTMLInputElement) {
    const chosen = input.files?.[0];
    if (chosen === undefined) return;
    setTyping(false);
    setFile({ name: chosen.name, text: await chosen.text() });
    // The same file, logged anew, can be chosen again.
    input.value = "";
  }
  return (
    <div class="stack">
      <div class="row">
        <label class="btn file">
          <input type="file" accept=".csv,.tsv,.txt,text/csv,text/plain" onChange={(event) => void take(event.currentTarget)} />
          {file === undefined ? words.pressure.file : words.pressure.another}
        </label>
        <button type="button" class="btn" aria-pressed={typing} onClick={() => { setFile(undefined); setTyping(!typing); }}>{words.pressure.type}</button>
        {file !== undefined && <span class="grow">{file.name}</span>}
      </div>
      {typing && (
        <AreaField
          label={words.pressure.readings}
          help={words.pressure.readingsHelp}
          rows={6}
          value={typed}
          fault={"line" in read ? words.pressure.badLine(read.line) : undefined}
          onInput={(event) => setTyped(event.currentTarget.value)}
        />
      )}
      {(file !== undefined || typing) && (
        <TextField
          label={words.pressure.volume}
          inputMode="decimal"
          value={volume}
          fault={volume.trim() !== "" && millilitres === undefined ? words.pressure.badVolume : undefined}
          onInput={(event) => setVolume(event.currentTarget.value)}
        />
      )}
      <RefusalNote refusal={refusal} title={words.pressure.notRead} />
      {told !== undefined && <PressureSays answer={told.answer} />}
    </div>
  );
}

/** Verdict in words, the rate in millilitres a minute with its ±, the SI value small, and the curve. */
export function PressureSays({ answer }: { answer: PressureAnswer }) {
  const perMinute = withUncertainty(answer.leak_rate_ml_min, answer.expanded_uncertainty_ml_min);
  const si = withUncertainty(answer.leak_rate_pa_m3_s, answer.expanded_uncertainty_pa_m3_s);
  const { log } = answer;
  // A typical air space and missing temperatures are told in the advice, with what to do; once is enough.
  const notes = answer.notes.filter((one) => answer.temperatures_logged || !/^no temperatures/i.test(one));
  return (
    <div class="pressure" role="status">
      <div class="pressure-head">
        {answer.verdict == null ? <b class="verdict none">{words.testsTab.noVerdict}</b> : <b class={`verdict ${answer.verdict}`}>{verdictWords(answer, answer.verdict)}</b>}
        <p>
          <b class="rate">{words.pressure.rate(perMinute.value, perMinute.uncertainty)}</b>{answer.limit_ml_min == null ? ` · ${words.pressure.noLimit}` : ` · ${words.pressure.limit(plain(answer.limit_ml_min))}`}
          <br /><span class="quiet">{words.pressure.si(si.value, si.uncertainty, answer.limit_pa_m3_s == null ? undefined : plain(answer.limit_pa_m3_s))}</span>
        </p>
      </div>
      <PressureCurve answer={answer} />
      {answer.advice.map((one) => <p key={one}><b>{one}</b></p>)}
      {notes.map((one) => <p key={one}>{one.charAt(0).toUpperCase() + one.slice(1)}</p>)}
      <p class="quiet">
        {answer.volume_from !== "typical" && `${words.pressure.volumeIs(plain(answer.volume_m3 * 1e6), words.pressure.volumeFrom[answer.volume_from])} `}
        {words.pressure.took(answer.reading_count, String(Math.round(answer.duration_s)))}
        {log != null && ` ${words.pressure.asRead(words.pressure.separators[log.separator] ?? log.separator, log.decimal_mark, log.columns.map((one) => `${one.heading ?? words.pressure.holds[one.holds]}: ${one.unit}`))}`}
        {log != null && log.ignored_columns.length > 0 && ` ${words.pressure.ignored(log.ignored_columns)}`}
      </p>
    </div>
  );
}

const HEIGHT = 250;
const [LEFT, RIGHT, TOP, BOTTOM] = [72, 14, 12, 30];

/** The readings over time; below the dashed line the leak is more than the shop allows. */
function PressureCurve({ answer: { drawing } }: { answer: PressureAnswer }) {
  const [around, width] = useWidth<HTMLDivElement>();
  const limits = drawing.flatMap((one) => (one.limit_gauge_pa == null ? [] : [one.limit_gauge_pa]));
  const pressures = roundRange([...drawing.flatMap((one) => [one.corrected_gauge_pa, one.fitted_gauge_pa]), ...limits], 4);
  const [first, last] = [drawing[0]?.t_s ?? 0, drawing.at(-1)?.t_s ?? 1];
  const x = (t: number) => place({ from: first, to: last, start: LEFT, end: width - RIGHT }, t);
  const y = (pa: number) => place({ ...pressures, start: HEIGHT - BOTTOM, end: TOP }, pa);
  const limit = drawing.flatMap((one) => (one.limit_gauge_pa == null ? [] : [{ x: x(one.t_s), y: y(one.limit_gauge_pa) }]));
  const floor = limit.map((one) => ({ x: one.x, y: HEIGHT - BOTTOM }));
  const isWide = width > 430;
  const below = limit[Math.floor(limit.length * 0.3)];
  return (
    <div class="plot" ref={around}>
      {width > 0 && (
        <svg viewBox={`0 0 ${width} ${HEIGHT}`} width={width} height={HEIGHT} role="img" aria-label={words.pressure.curve(plain(drawing[0]?.corrected_gauge_pa ?? 0), plain(drawing.at(-1)?.corrected_gauge_pa ?? 0), String(Math.round(last - first)))}>
          <path class="below" d={bandPath(limit, floor)} />
          {ticksOf(pressures.from, pressures.to, 4).map((pa) => (
            <g key={pa}><path class="grid" d={`M${LEFT} ${y(pa)}H${width - RIGHT}`} /><text class="ax end" x={LEFT - 8} y={y(pa) + 5}>{words.pressure.pascal(pa)}</text></g>
          ))}
          {ticksOf(first, last, isWide ? 5 : 3).map((t) => <text key={t} class="ax mid" x={Math.min(x(t), width - RIGHT - 14)} y={HEIGHT - 8}>{words.pressure.seconds(t)}</text>)}
          <path class="limit" d={linePath(limit)} />
          <path class="fit" d={linePath(drawing.map((one) => ({ x: x(one.t_s), y: y(one.fitted_gauge_pa) })))} />
          {drawing.map((one) => <circle key={one.t_s} class="read" cx={x(one.t_s)} cy={y(one.corrected_gauge_pa)} r="2.6" />)}
          {below !== undefined && HEIGHT - BOTTOM - below.y > 34 && <text class="ax b" x={LEFT + 14} y={HEIGHT - BOTTOM - 12}>{words.pressure.belowLimit}</text>}
        </svg>
      )}
    </div>
  );
}
