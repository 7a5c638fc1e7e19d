import { bandPath, linePath, place, ticksOf } from "../shop/chart";
import { inRows, labelRows, type Box } from "../shop/label-rows";
import { plotWords, ROW } from "../shop/plot-words";
import { useWidth } from "./use-width";

/** A point of the tube straightened out: the temperature as planned, and with cautious values. */
export type Along = { position_mm: number; likely_c: number; cautious_c: number };
/** A joint on the tube; what is written at it is said by whoever shows it, in pieces that may stand one below another. */
export type JointMark = { position_mm: number; label: readonly string[]; below: readonly string[]; melts_c?: number | undefined; /** How hot it may get: the margin below melting. */ limit_c?: number | undefined; likely_c?: number | undefined; cautious_c?: number | undefined; off?: boolean };

const [LEFT, RIGHT, PLOT, TUBE] = [62, 12, 170, 24];
/** About how wide a letter of the labels is, px at 15 px and bold. */
const LETTER = 9.2;

/**
 * The tube straightened out under a chart of temperature along it. Thick curve: as planned; thin
 * curve: cautious values; dotted: the tube in water. Dashed: where solder melts; dotted below it: how
 * hot a joint may get. Hatching: where the band between the two curves lies above that at a joint.
 */
export function TemperatureChart({ along, joints, torch, water, meltWords, label, degrees }: {
  along: readonly Along[];
  joints: readonly JointMark[];
  torch: { position_mm: number; label: readonly string[]; below: readonly string[] };
  /** With a way round: water, a heat sink. */
  water?: { label: readonly string[]; along: readonly { position_mm: number; temperature_c: number }[]; covered: readonly { from_mm: number; to_mm: number }[] } | undefined;
  /** What stands on the level of a solder. */
  meltWords: (c: number, limit_c: number | undefined) => readonly string[];
  /** The chart in one sentence. */
  label: string;
  degrees: (c: number) => string;
}) {
  const [around, width] = useWidth<HTMLDivElement>();
  const positions = along.map((one) => one.position_mm);
  const [from, to] = [Math.min(...positions), Math.max(...positions)];
  const hottest = Math.max(100, ...along.map((one) => one.cautious_c));
  // The torch comes last, nearest to its place: no leader runs through what stands below it.
  const marks = [...joints, torch];
  const x = (mm: number) => place({ from, to, start: LEFT, end: width - RIGHT }, mm);
  const said = (pieces: readonly string[]) => inRows(pieces, ": ", width - 8, LETTER);
  const widest = (lines: readonly string[]) => Math.max(...lines.map((line) => line.length)) * LETTER;
  const above = marks.map((one) => said(one.label));
  const below = marks.map((one) => said(one.below));
  const laid = (labels: readonly string[][]) => labelRows(labels.map((lines, at) => ({ at: x(marks[at]?.position_mm ?? 0), width: widest(lines), rows: lines.length })), width, 12);
  const ends = (labels: readonly string[][], rows: readonly { row: number }[]) => Math.max(...rows.map((one, at) => one.row + (labels[at]?.length ?? 1)));
  const rows = laid(above);
  const top = ends(above, rows) * ROW + 4;
  const under = laid(below);
  const floor = top + PLOT;
  const tube = floor + 16;
  const height = tube + TUBE + ends(below, under) * ROW + 4;
  const y = (c: number) => place({ from: 0, to: hottest, start: floor, end: top }, c);
  const likely = along.map((one) => ({ x: x(one.position_mm), y: y(one.likely_c) }));
  const cautious = along.map((one) => ({ x: x(one.position_mm), y: y(one.cautious_c) }));
  const levels = [...new Set(joints.flatMap((one) => (one.melts_c === undefined ? [] : [one.melts_c])))];
  const limitOf = (c: number) => joints.find((one) => one.melts_c === c)?.limit_c;
  const levelLines = levels.map((c) => inRows(meltWords(c, limitOf(c)), "; ", width - LEFT - RIGHT - 12, LETTER));
  // A way round begins at the torch: behind it nothing is other than it was.
  const onward = water?.along.filter((one) => joints.every((joint) => (joint.position_mm < torch.position_mm ? one.position_mm <= torch.position_mm : one.position_mm >= torch.position_mm))) ?? [];
  const way = onward.map((one) => ({ x: x(one.position_mm), y: y(one.temperature_c) }));
  // Where it begins, seen from the torch, stands a bar.
  const covers = (water?.covered ?? []).map((one) => {
    const [start, end] = [Math.max(LEFT, x(one.from_mm)), Math.min(width - RIGHT, x(one.to_mm))];
    return { from: start, to: end, begins: one.from_mm >= torch.position_mm ? start : end };
  }).filter((one) => one.to > one.from);
  const wayLines = water === undefined ? [] : inRows(water.label, ": ", width - LEFT - RIGHT - 12, LETTER);
  const written = plotWords({
    plot: { left: LEFT, right: width - RIGHT, top, bottom: floor },
    letter: LETTER,
    levels: levels.map((c, at) => ({ lines: levelLines[at] ?? [], base: y(c), under: y(limitOf(c) ?? c) })),
    way: wayLines.length === 0 ? undefined : { lines: wayLines },
    curves: [likely, cautious, way],
  });
  // For what the plot has no room, the lines below it have.
  const beneath = [
    ...levels.flatMap((c, at) => (written.levels[at] === undefined ? [meltWords(c, limitOf(c)).join("; ")] : [])),
    ...(water === undefined || written.way !== undefined ? [] : [water.label.join(": ")]),
  ];
  return (
    <div class="plot" ref={around}>
      {width > 0 && (
        <svg viewBox={`0 0 ${width} ${height}`} width={width} height={height} role="img" aria-label={label}>
          <path class="below" d={bandPath(cautious, likely)} />
          {ticksOf(0, hottest, 4).map((c) => (
            <g key={c}><path class="grid" d={`M${LEFT} ${y(c)}H${width - RIGHT}`} /><text class="ax end" x={LEFT - 8} y={y(c) + 5}>{degrees(c)}</text></g>
          ))}
          {levels.map((c) => (
            <path key={c} class="limit" d={`M${LEFT} ${y(c)}H${width - RIGHT}`} />
          ))}
          {levels.map(limitOf).map((c) => (c === undefined ? null : <path key={c} class="limit kept" d={`M${LEFT} ${y(c)}H${width - RIGHT}`} />))}
          {joints.map((one, at) => (one.off || one.melts_c === undefined || one.cautious_c === undefined || one.likely_c === undefined || one.cautious_c <= (one.limit_c ?? one.melts_c)
            ? null
            : <path key={at} class="hatch" d={hatching([Math.max(LEFT, x(one.position_mm) - 20), Math.min(width - RIGHT, x(one.position_mm) + 20)], y(one.cautious_c), y(Math.max(one.limit_c ?? one.melts_c, one.likely_c)))} />))}
          <path class="thin" d={linePath(cautious)} />
          <path class="thick" d={linePath(likely)} />
          {way.length > 1 && <path class="water" d={linePath(way)} />}
          {levelLines.map((lines, at) => lines.map((line, i) => <Written key={`${at} ${line}`} class="ax b" at={written.levels[at]} row={i} line={line} />))}
          {wayLines.map((line, i) => <Written key={line} class="ax wet" at={written.way} row={i} line={line} />)}
          {marks.map((one, at) => {
            const row = rows[at];
            const lines = above[at] ?? [];
            const joint = joints[at];
            return (
              <g key={at}>
                <path class="leader" d={`M${x(one.position_mm)} ${((row?.row ?? 0) + lines.length) * ROW - 1}V${joint === undefined ? y(hottest) + 2 : tube}`} />
                {joint?.likely_c !== undefined && <circle class="spot" cx={x(one.position_mm)} cy={y(joint.likely_c)} r="5" />}
                {lines.map((line, i) => <text key={line} class="ax b" x={row?.left ?? 0} y={((row?.row ?? 0) + i) * ROW + 14}>{line}</text>)}
              </g>
            );
          })}
          <path class="tube" d={`M${LEFT} ${tube}H${width - RIGHT}V${tube + TUBE}H${LEFT}Z`} />
          <path class="cl" d={`M${LEFT} ${tube + TUBE / 2}H${width - RIGHT}`} />
          {covers.map((one) => (
            <g key={one.from}>
              <rect class="cover" x={one.from} y={tube} width={one.to - one.from} height={TUBE} />
              <path class="cover-edge" d={`M${one.begins} ${tube - 9}V${tube + TUBE + 7}`} />
            </g>
          ))}
          <path class="crack" d={`M${x(torch.position_mm) - 18} ${tube + TUBE / 2}l12 -4l8 7l9 -6l7 3`} />
          {joints.map((one, at) => <rect key={at} class={one.off ? "joint off" : "joint"} x={x(one.position_mm) - 5} y={tube - 4} width="10" height={TUBE + 8} />)}
          {below.map((lines, at) => lines.map((line, i) => <text key={`${at} ${line}`} class="ax b" x={under[at]?.left ?? 0} y={tube + TUBE + 18 + ((under[at]?.row ?? 0) + i) * ROW}>{line}</text>))}
        </svg>
      )}
      {width > 0 && beneath.map((line) => <p key={line} class="small">{line}</p>)}
    </div>
  );
}

/** A row of words in its box on the plot; nothing where the plot has no room for it. */
function Written({ at, row, line, ...look }: { at: Box | undefined; row: number; line: string; class: string }) {
  return at === undefined ? null : <text {...look} x={at.left} y={at.top + 15 + row * ROW}>{line}</text>;
}

/** Slanted strokes in a box around a joint. */
function hatching([left, right]: [number, number], top: number, bottom: number): string {
  let path = "";
  for (let start = left - (bottom - top); start < right; start += 6) {
    const from = Math.max(left, start);
    const to = Math.min(right, start + (bottom - top));
    if (to > from) path += `M${from} ${bottom - (from - start)}L${to} ${bottom - (to - start)}`;
  }
  return path;
}
