import { expect, test } from "vitest";
import type { PartMap } from "../api/shapes";
import { firstFitKind, fitPlaces } from "./fit-places";

/** As the families' maps have them: the id is the first name in small letters and hyphens. */
const idOf = (name: string) => name.replaceAll(/[ ,]+/g, "-");
const part = (name: string, kind: PartMap["parts"][number]["kind"]): PartMap["parts"][number] => ({
  id: idOf(name), name, kind, material: "brass_c260", finish: "bare", seam: "none", length: { mm: 100, basis: "typical" }, diameters: [],
});
const joint = (a: string, b: string, held: PartMap["joints"][number]["held"], more: { struck_reason?: string } = {}): PartMap["joints"][number] => ({
  id: `${a} to ${b}`, name: `${a} to ${b}`, held, places: [{ part: idOf(a), at_mm: 0 }, { part: idOf(b), at_mm: 0 }], ...more,
});
const trombone = {
  parts: [part("mouthpiece receiver", "tube"), part("hand slide, inner", "tube"), part("hand slide, outer", "tube"), part("tuning slide", "tube"), part("goose neck", "tube"), part("trigger rotor", "rotor"), part("trigger valve", "rotor_casing"), part("bell", "tube")],
  joints: [joint("hand slide, outer", "hand slide, inner", "slide_fit"), joint("goose neck", "tuning slide", "slide_fit"), joint("trigger rotor", "trigger valve", "slide_fit"), joint("bell", "goose neck", "soft_soldered"), joint("bell", "tuning slide", "slide_fit", { struck_reason: "never had it" })],
};
const names = (kind: Parameters<typeof fitPlaces>[1]) => fitPlaces(trombone, kind).fitting.map((one) => one.name);

test("each kind of fit is looked for where such an instrument has it", () => {
  expect(names("tuning_slide")).toEqual(["goose neck to tuning slide"]);
  expect(names("hand_slide")).toEqual(["hand slide, outer to hand slide, inner"]);
  expect(names("valve")).toEqual(["trigger rotor to trigger valve"]);
  expect(names("shank")).toEqual(["mouthpiece receiver"]);
  expect(names("tenon_with_cork")).toEqual([]);
});

test("whatever else the instrument has can be named all the same, once, but nothing that was struck", () => {
  const { fitting, others } = fitPlaces(trombone, "shank");
  expect(others.map((one) => one.name)).toContain("bell");
  expect(others.map((one) => one.name)).not.toContain("bell to tuning slide");
  expect(new Set([...fitting, ...others].map((one) => one.id)).size).toBe(12);
});

test("the form begins with a kind that the instrument has", () => {
  expect(firstFitKind(trombone)).toBe("tuning_slide");
  expect(firstFitKind({ parts: [part("barrel", "body"), part("bell", "body")], joints: [joint("barrel", "bell", "tenon_and_cork")] })).toBe("tenon_with_cork");
  expect(firstFitKind({ parts: [], joints: [] })).toBe("tuning_slide");
});

test("a part is known by its id, whatever the shop calls it", () => {
  const called = (id: string, name: string) => ({ ...part(id, "tube"), name });
  const map = {
    parts: [called("mouthpiece-receiver", "Mundstückaufnahme"), called("hand-slide-inner-bell-side", "Innenzug"), called("hand-slide-outer", "Außenzug"), called("shank-rack", "receiver of the shank rack")],
    joints: [{ ...joint("hand slide, inner, bell side", "hand slide, outer", "slide_fit"), name: "Zug" }],
  };
  expect(fitPlaces(map, "shank").fitting.map((one) => one.name)).toEqual(["Mundstückaufnahme"]);
  expect(fitPlaces(map, "hand_slide").fitting.map((one) => one.name)).toEqual(["Zug"]);
  expect(firstFitKind(map)).toBe("hand_slide");
});
