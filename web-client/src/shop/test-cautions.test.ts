import { expect, test } from "vitest";
import { words } from "../words";
import { TEST_CAUTIONS } from "./test-cautions";

test("what somebody blows is cleaned before, what is pumped has its limit", () => {
  const told = (slug: string) => Object.entries(TEST_CAUTIONS).filter(([, slugs]) => slugs.includes(slug)).map(([method]) => method).toSorted();
  expect(told("hygiene")).toEqual(["bubbles", "finger_and_blow", "played", "smoke"]);
  expect(told("pressure")).toEqual(["bubbles", "pressure_decay", "smoke"]);
});

test("every caution of a test has its words", () => {
  for (const slug of Object.values(TEST_CAUTIONS).flat()) expect(words.cautions[slug]).toMatch(/:/);
});
