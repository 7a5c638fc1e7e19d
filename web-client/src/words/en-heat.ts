/** The words of joints in the heat in English, which come with the work order. */

import { count } from "./count";

export const heatWords = {
  open: (what: string) => `Open: ${what}`,
  settled: (joint: string, way: string) => `Settled: ${joint}, ${way}`,
  what: (joint: string, melts: boolean, step: number | undefined, title: string) => `${joint} ${melts ? "would" : "may"} melt in ${step === undefined ? "" : `step ${step}, `}${title}`,
  reckoned: (way: string) => `Nobody has chosen yet. The shortest order has it ${way}.`,
  stillIn: (joints: string) => `Before the torch: ${joints}.`,
  stillOne: (joint: string, likely: string, melts: string) => `${joint} would reach about ${likely} °C and its solder melts at ${melts} °C`,
  stillMore: "Take it apart first, or choose a way round above; nothing of that is done by itself.",
  startAnyway: "Why it starts all the same:",
  startReasons: ["It is apart already", "I protect it by hand", "It is not soldered here"],
  startedAnyway: (step: number, title: string, joints: string, reason: string) => `Step ${step}, ${title}, was started with ${joints} in its heat: ${reason}`,
  others: "The other joints in the heat",
  openShort: (joint: string, step: number | undefined) => `Open: ${joint}${step === undefined ? "" : `, step ${step}`}`,
  settledShort: (joint: string, step: number | undefined) => `Settled: ${joint}${step === undefined ? "" : `, step ${step}`}`,
  ways: { take_apart: "taken apart first", heat_sink: "with a heat sink", water: "in water", wet_rag: "in a wet rag", other_method: "by another method" },
  waysFor: (joint: string) => `Ways round for ${joint}`,
  verdicts: { safe: "safe", at_risk: "may melt", melts: "would melt" },
  off: "off",
  joint: (name: string, mm: string, likely: string, cautious: string) => [`${name}, ${mm} mm`, `about ${likely} °C (cautious ${cautious})`],
  torch: (c: string) => `${c} °C`,
  torchBelow: (step: number) => `step ${step}, torch here`,
  melts: (c: string, known: boolean, kept: string | undefined) => [known ? `solder melts, ${c} °C` : `solder melts, taken for ${c} °C`, ...(kept === undefined ? [] : [`kept under ${kept} °C`])],
  saved: (way: string) => `safe ${way}`,
  wayCurve: (way: string, mm: string | undefined, c: string | undefined) => {
    const from = mm === undefined ? way : `${way} from ${mm} mm on`;
    return c === undefined ? [from] : [from, `about ${c} °C here`];
  },
  degrees: (c: number) => `${c} °C`,
  spoken: (what: string, likely: string, cautious: string, melts: string) => `${what}: about ${likely} °C there, ${cautious} with cautious values; it melts at ${melts} °C.`,
  key: (typical: number) => `Thick line: likely; thin line: cautious values; dotted: with the way round. ${typical === 0 ? "All values were measured." : `${count(typical, "value is", "values are")} typical, not measured.`} Steady heat, the worst case.`,
  notAllowed: (why: string) => `not enough: ${why}`,
  taken: "in this order",
  wanted: "chosen",
  doIt: "Do it this way",
  doItNamed: (way: string) => `Do it this way: ${way}`,
  lost: (way: string) => `Chosen, but not safe any more: ${way}.`,
  minutes: (own: number, whole: string | undefined) => `${own < 0 ? `saves ${-own} min` : own === 0 ? "no longer" : `+${own} min`}${whole === undefined ? "" : ` · whole work ${whole}`}`,
};
