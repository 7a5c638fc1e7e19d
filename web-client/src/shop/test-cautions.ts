import type { TestMethod } from "../api/shapes";

/**
 * What to be careful of with each way of testing: slugs of the cautions. Whatever is blown by mouth
 * is cleaned before; bubbles and smoke are blown or pumped, so both hold.
 */
export const TEST_CAUTIONS: Record<TestMethod, readonly string[]> = {
  finger_and_blow: ["hygiene"],
  played: ["hygiene"],
  bubbles: ["hygiene", "pressure"],
  smoke: ["hygiene", "pressure"],
  pressure_decay: ["pressure"],
  leak_light: [],
  feeler: [],
};
