import { expect, test } from "vitest";
import { bare, onlyDrawn, valuesOf, withIds, type Drawn } from "./drawing";

const tube: Drawn = { tag: "g", attributes: { "data-part": "bell" }, children: [{ tag: "title", text: "Bell" }, { tag: "path", attributes: { class: "tube", d: "M0 0H10" } }] };

test("a drawing stays as it is", () => {
  const drawing: Drawn = { tag: "svg", attributes: { viewBox: "0 0 10 10", role: "group", "aria-labelledby": "a b" }, children: [tube] };
  expect(onlyDrawn(drawing)).toMatchObject({ tag: "svg", attributes: drawing.attributes, children: [{ attributes: tube.attributes, children: [{ text: "Bell" }, { attributes: { d: "M0 0H10" } }] }] });
});

test.each(["script", "foreignObject", "use", "image", "a", "style", "animate", "SCRIPT", "iframe"])("a %s goes, with all it holds", (tag) => {
  expect(onlyDrawn({ tag: "svg", children: [{ tag, children: [tube] }] })?.children).toEqual([]);
});

test.each(["onclick", "onload", "style", "href", "xlink:href", "fill", "formaction", "data-", "srcdoc"])("the attribute %s goes alone", (name) => {
  expect(onlyDrawn({ tag: "path", attributes: { [name]: "x", d: "M0 0" } })?.attributes).toEqual({ d: "M0 0" });
});

test("a value that points elsewhere goes", () => {
  expect(onlyDrawn({ tag: "path", attributes: { class: "url(https://elsewhere.example)" } })?.attributes).toEqual({});
});

test("a bare drawing has lost its pins and marks, and nothing else", () => {
  const pin: Drawn = { tag: "g", attributes: { "data-finding": "f1" }, children: [{ tag: "circle" }] };
  const mark: Drawn = { tag: "g", attributes: { "data-mark": "m1" } };
  expect(bare({ tag: "svg", children: [tube, { tag: "g", children: [pin, mark] }, pin] })).toMatchObject({ children: [{ attributes: tube.attributes }, { tag: "g", children: [] }] });
});

test("nothing is written beside a bare drawing; a spring, drawn as thin as a leader, stays", () => {
  const label: Drawn = { tag: "text", attributes: { class: "lbl q" }, text: "bell · Ø 22–119 × 0.50" };
  const leader: Drawn = { tag: "path", attributes: { class: "dim lbl" } };
  const spring: Drawn = { tag: "path", attributes: { class: "dim" } };
  expect(bare({ tag: "svg", children: [tube, label, leader, spring] }).children).toEqual([{ ...tube, children: tube.children?.map(bare) }, { ...spring, children: [] }]);
});

test("the parts of a drawing are told in its order, once each", () => {
  const slide: Drawn = { tag: "g", attributes: { "data-part": "slide" } };
  expect(valuesOf({ tag: "svg", children: [tube, slide, tube] }, "data-part")).toEqual(["bell", "slide"]);
});

test("a second drawing on one page has ids of its own, and is still named by them", () => {
  const drawing: Drawn = { tag: "svg", attributes: { "aria-labelledby": "a-title a-desc", class: "pm" }, children: [{ tag: "title", attributes: { id: "a-title" }, text: "Horn" }, tube] };
  expect(withIds(drawing, "extra-")).toMatchObject({ attributes: { "aria-labelledby": "extra-a-title extra-a-desc", class: "pm" }, children: [{ attributes: { id: "extra-a-title" }, text: "Horn" }, { attributes: tube.attributes }] });
});
