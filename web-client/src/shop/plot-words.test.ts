import { expect, test } from "vitest";
import { inRows, overlap } from "./label-rows";
import { plotWords } from "./plot-words";

const LETTER = 9.2;

/** A brazing at 700 °C over a joint: falling curves, a level of solder, and words of the way round. */
function drawn(width: number, melts: number, kept: number) {
  const plot = { left: 62, right: width - 12, top: 46, bottom: 216 };
  const y = (c: number) => plot.bottom - (c / 700) * (plot.bottom - plot.top);
  const curve = (far: number) => Array.from({ length: 40 }, (_, i) => ({ x: plot.left + (i / 39) * (plot.right - plot.left), y: y(20 + 680 * Math.exp(-i / far)) }));
  const most = width - 62 - 12 - 12;
  const lines = inRows([`solder melts, taken for ${melts} °C`, `kept under ${kept} °C`], "; ", most, LETTER);
  const way = { lines: inRows(["in water from 38 mm on", "about 61 °C here"], ": ", most, LETTER) };
  const curves = [curve(8), curve(12), curve(4)];
  return { plot, lines, way, written: plotWords({ plot, letter: LETTER, levels: [{ lines, base: y(melts), under: y(kept) }], way, curves }) };
}

test("no two words of the chart lie on one another or beyond the plot, at any width and height of the level", () => {
  for (let width = 160; width <= 1300; width += 7) {
    for (let melts = 60; melts <= 700; melts += 20) {
      const { plot, written } = drawn(width, melts, melts - 25);
      const boxes = [...written.levels, written.way].flatMap((box) => (box === undefined ? [] : [box]));
      for (const [i, a] of boxes.entries()) {
        expect([a.left >= plot.left, a.right <= plot.right, a.top >= plot.top, a.bottom <= plot.bottom], `${width} px, ${melts} °C`).toEqual([true, true, true, true]);
        for (const b of boxes.slice(i + 1)) expect(overlap(a, b), `${width} px, ${melts} °C`).toBe(false);
      }
    }
  }
});

test("on a telephone the solder and the water are written apart, and on a wide screen beside the curves", () => {
  for (const width of [326, 900]) {
    const { written } = drawn(width, 183, 158);
    const [level, way] = [written.levels[0], written.way];
    expect(level !== undefined || way !== undefined, `${width}`).toBe(true);
    if (width === 900) expect([level, way].includes(undefined)).toBe(false);
  }
});

test("where there is no room it is left for the lines below", () => {
  expect(drawn(160, 183, 158).written.levels).toEqual([undefined]);
});
