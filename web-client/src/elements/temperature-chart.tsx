import { bandPath, linePath, place, ticksOf } from "../shop/chart";
import { labelRows } from "../shop/label-rows";
import { useWidth } from "./use-width";

/** A point of the tube straightened out: the temperature as planned, and with cautious values. */
export type Along = { position_mm: number; likely_c: number; cautious_c: number };
/** A joint on the tube; what is written at it is said by whoever shows it. */
export type JointMark = { position_mm: number; label: string; below: string; melts_c?: number | undefined; likely_c?: number | undefined; cautious_c?: number | undefined; off?: boolean };

const [LEFT, RIGHT, PLOT, TUBE] = [66, 12, 170, 24];
const ROW = 21;
/** About how wide a letter of the labels is, px at 15 px and bold. */
const LETTER = 9.2;

/**
 * The tube straightened out under a chart of temperature along it. Thick curve: as planned; thin
 * curve: cautious values; dotted: the tube in water. Dashed: where solder melts. Hatching: where the
 * band between the two curves lies above it at a joint.
 */
export function TemperatureChart({ along, joints, torch, water, meltWords, label, degrees }: {
  along: readonly Along[];
  joints: readonly JointMark[];
  torch: { position_mm: number; label: string; below: string };
  /** With a way round: water, a heat sink. */
  water?: { label: string; along: readonly { position_mm: number; temperature_c: number }[] } | undefined;
  /** What stands on the level of a solder. */
  meltWords: (c: number) => string;
  /** The chart in one sentence. */
  label: string;
  degrees: (c: number) => string;
}) {
  const [around, width] = useWidth<HTMLDivElement>();
  const positions = along.map((one) => one.position_mm);
  const [from, to] = [Math.min(...positions), Math.max(...positions)];
  const hottest = Math.max(100, ...along.map((one) => one.cautious_c));
  const marks = [{ position_mm: torch.position_mm, label: torch.label }, ...joints].filter((one) => one.label !== "");
  const x = (mm: number) => place({ from, to, start: LEFT, end: width - RIGHT }, mm);
  const rows = labelRows(marks.map((one) => ({ at: x(one.position_mm), width: one.label.length * LETTER })), width, 12);
  const top = (Math.max(0, ...rows.map((one) => one.row)) + 1) * ROW + 4;
  const under = labelRows([torch, ...joints].map((one) => ({ at: x(one.position_mm), width: one.below.length * LETTER })), width, 12);
  const floor = top + PLOT;
  const tube = floor + 16;
  const height = tube + TUBE + (Math.max(0, ...under.map((one) => one.row)) + 1) * ROW + 4;
  const y = (c: number) => place({ from: 0, to: hottest, start: floor, end: top }, c);
  const likely = along.map((one) => ({ x: x(one.position_mm), y: y(one.likely_c) }));
  const cautious = along.map((one) => ({ x: x(one.position_mm), y: y(one.cautious_c) }));
  const levels = [...new Set(joints.flatMap((one) => (one.melts_c === undefined ? [] : [one.melts_c])))];
  return (
    <div class="plot" ref={around}>
      {width > 0 && (
        <svg viewBox={`0 0 ${width} ${height}`} width={width} height={height} role="img" aria-label={label}>
          <path class="below" d={bandPath(cautious, likely)} />
          {ticksOf(0, hottest, 4).map((c) => (
            <g key={c}><path class="grid" d={`M${LEFT} ${y(c)}H${width - RIGHT}`} /><text class="ax end" x={LEFT - 8} y={y(c) + 5}>{degrees(c)}</text></g>
          ))}
          {levels.map((c) => (
            <g key={c}><path class="limit" d={`M${LEFT} ${y(c)}H${width - RIGHT}`} /><text class="ax b" x={LEFT + 6} y={y(c) + 17}>{meltWords(c)}</text></g>
          ))}
          {joints.map((one, at) => (one.off || one.melts_c === undefined || one.cautious_c === undefined || one.likely_c === undefined || one.cautious_c <= one.melts_c
            ? null
            : <path key={at} class="hatch" d={hatching(x(one.position_mm), y(one.cautious_c), y(Math.max(one.melts_c, one.likely_c)))} />))}
          <path class="thin" d={linePath(cautious)} />
          <path class="thick" d={linePath(likely)} />
          {water !== undefined && (
            <>
              <path class="water" d={linePath(water.along.map((one) => ({ x: x(one.position_mm), y: y(one.temperature_c) })))} />
              <text class="ax wet" x={Math.max(LEFT, width - RIGHT - water.label.length * LETTER)} y={floor - 10}>{water.label}</text>
            </>
          )}
          {marks.map((one, at) => {
            const row = rows[at];
            const joint = joints.find((of) => of === one);
            const end = joint?.likely_c === undefined ? y(hottest) : y(joint.likely_c);
            return (
              <g key={at}>
                <path class="leader" d={`M${x(one.position_mm)} ${(row?.row ?? 0) * ROW + 18}V${joint === undefined ? top + 2 : tube}`} />
                {joint?.likely_c !== undefined && <circle class="spot" cx={x(one.position_mm)} cy={end} r="5" />}
                <text class="ax b" x={row?.left ?? 0} y={(row?.row ?? 0) * ROW + 14}>{one.label}</text>
              </g>
            );
          })}
          <path class="tube" d={`M${LEFT} ${tube}H${width - RIGHT}V${tube + TUBE}H${LEFT}Z`} />
          <path class="cl" d={`M${LEFT} ${tube + TUBE / 2}H${width - RIGHT}`} />
          <path class="crack" d={`M${x(torch.position_mm) - 18} ${tube + TUBE / 2}l12 -4l8 7l9 -6l7 3`} />
          {joints.map((one, at) => <rect key={at} class={one.off ? "joint off" : "joint"} x={x(one.position_mm) - 5} y={tube - 4} width="10" height={TUBE + 8} />)}
          {[torch, ...joints].map((one, at) => <text key={at} class="ax b" x={under[at]?.left ?? 0} y={tube + TUBE + 18 + (under[at]?.row ?? 0) * ROW}>{one.below}</text>)}
        </svg>
      )}
    </div>
  );
}

/** Slanted strokes in a box around a joint. */
function hatching(at: number, top: number, bottom: number): string {
  const [left, right] = [at - 20, at + 20];
  let path = "";
  for (let start = left - (bottom - top); start < right; start += 6) {
    const from = Math.max(left, start);
    const to = Math.min(right, start + (bottom - top));
    if (to > from) path += `M${from} ${bottom - (from - start)}L${to} ${bottom - (to - start)}`;
  }
  return path;
}
