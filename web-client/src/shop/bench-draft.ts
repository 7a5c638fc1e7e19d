import type { BenchSettings } from "../api/shapes";
import { readDecimal } from "./quote-draft";

export const JOINTS = ["soft_soldered", "slide_fit", "threaded", "tenon_and_cork", "pivot"] as const;
export const PROTECTIONS = ["heat_sink", "water", "wet_rag"] as const;
/** The most stations that the server's plan reckons with, and the most minutes of anything. */
export const MOST_STATIONS = 12;
const MOST_MINUTES = 600;

type Joint = (typeof JOINTS)[number];
type Protection = (typeof PROTECTIONS)[number];

/** The bench's settings as typed. */
export type BenchDraft = {
  stations: string[];
  /** Minutes from the station of the row to that of the column. */
  changeover: string[][];
  /** Which station the day begins at, by its place in the list: a name is half typed now and then. */
  start: number | undefined;
  take: Record<Joint, string>;
  put: Record<Joint, string>;
  protect: Record<Protection, string>;
  margin: string;
  rod: string;
};

const each = <K extends string>(keys: readonly K[], of: (key: K) => string) => Object.fromEntries(keys.map((key) => [key, of(key)])) as Record<K, string>;

export function benchDraftOf(settings: BenchSettings): BenchDraft {
  return {
    stations: [...settings.stations],
    changeover: settings.changeover_minutes.map((row) => row.map(String)),
    start: startOf(settings),
    take: each(JOINTS, (joint) => String(settings.take_apart_minutes[joint])),
    put: each(JOINTS, (joint) => String(settings.put_together_minutes[joint])),
    // Set before there were wet rags: the server's own typical minutes stand in the answer.
    protect: each(PROTECTIONS, (how) => String(settings.protect_minutes[how] ?? "")),
    margin: String(settings.margin_k),
    rod: String(settings.rod_diameter_mm),
  };
}

function startOf({ stations, start_station }: BenchSettings): number | undefined {
  const at = stations.findIndex((one) => one === start_station);
  return at < 0 ? undefined : at;
}

/** With one more station; nobody has said yet how long it takes to get there. */
export function withStation(draft: BenchDraft): BenchDraft {
  const size = draft.stations.length;
  return { ...draft, stations: [...draft.stations, ""], changeover: [...draft.changeover.map((row) => [...row, ""]), [...Array.from({ length: size }, () => ""), "0"]] };
}

export function withoutStation(draft: BenchDraft, at: number): BenchDraft {
  const left = <T,>(of: readonly T[]) => of.filter((_, i) => i !== at);
  return { ...draft, stations: left(draft.stations), changeover: left(draft.changeover).map(left), start: draft.start === undefined || draft.start === at ? undefined : draft.start - (draft.start > at ? 1 : 0) };
}

/** Another name for a station; where the day begins stays with it, also while its field is empty. */
export function renamed(draft: BenchDraft, at: number, name: string): BenchDraft {
  return { ...draft, stations: draft.stations.map((one, i) => (i === at ? name : one)) };
}

/** The settings that a draft says, or the fields that are wrong: `station 2`, `changeover 0 1`, `take pivot`, `margin`. */
export function readBench(draft: BenchDraft): { settings: BenchSettings } | { faults: string[] } {
  const faults: string[] = [];
  const minutes = (field: string, typed: string): number => {
    const read = /^\d{1,3}$/.test(typed.trim()) ? Number(typed) : Number.NaN;
    if (!(read <= MOST_MINUTES)) faults.push(field);
    return read;
  };
  const within = (field: string, typed: string, least: number, most: number): number => {
    const read = readDecimal(typed, 3);
    const value = read === undefined ? Number.NaN : Number(read);
    if (!(value >= least && value <= most)) faults.push(field);
    return value;
  };
  const all = <K extends string>(name: string, keys: readonly K[], of: Record<K, string>) => Object.fromEntries(keys.map((key) => [key, minutes(`${name} ${key}`, of[key])])) as Record<K, number>;
  const stations = draft.stations.map((one) => one.trim());
  for (const [at, name] of stations.entries()) if (name === "" || name.length > 60 || stations.indexOf(name) !== at) faults.push(`station ${at}`);
  const start = draft.start === undefined ? undefined : stations[draft.start];
  const settings: BenchSettings = {
    stations,
    // Nobody changes from a station to itself.
    changeover_minutes: draft.changeover.map((row, from) => row.map((typed, to) => (from === to ? 0 : minutes(`changeover ${from} ${to}`, typed)))),
    ...(start === undefined ? {} : { start_station: start }),
    take_apart_minutes: all("take", JOINTS, draft.take),
    put_together_minutes: all("put", JOINTS, draft.put),
    protect_minutes: all("protect", PROTECTIONS, draft.protect),
    margin_k: within("margin", draft.margin, 0, 200),
    rod_diameter_mm: within("rod", draft.rod, 0.1, 20),
  };
  return faults.length > 0 ? { faults } : { settings };
}

/**
 * A draft field by field, and back. The stations are one field with the minutes between them and
 * where the day begins: half a table of each of two people would be nobody's.
 */
export function fieldsOfBench({ stations, changeover, start, take, put, protect, margin, rod }: BenchDraft): Record<string, unknown> {
  const named = (name: string, of: Record<string, string>) => Object.entries(of).map(([key, typed]) => [`${name} ${key}`, typed] as const);
  // Nobody changes from a station to itself, whatever stands there.
  const between = changeover.map((row, from) => row.map((typed, to) => (from === to ? "0" : typed)));
  return { stations: { stations, changeover: between, start: start ?? null }, ...Object.fromEntries([...named("take", take), ...named("put", put), ...named("protect", protect)]), margin, rod };
}
export function benchFrom(fields: Readonly<Record<string, unknown>>): BenchDraft {
  const { stations, changeover, start } = fields["stations"] as Pick<BenchDraft, "stations" | "changeover"> & { start: number | null };
  const of = <K extends string>(name: string, keys: readonly K[]) => each(keys, (key) => String(fields[`${name} ${key}`] ?? ""));
  return {
    stations, changeover, start: start ?? undefined,
    take: of("take", JOINTS), put: of("put", JOINTS), protect: of("protect", PROTECTIONS),
    margin: String(fields["margin"] ?? ""), rod: String(fields["rod"] ?? ""),
  };
}
