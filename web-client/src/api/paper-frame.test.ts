import { afterEach, beforeEach, expect, test, vi } from "vitest";

/** A page whose frames come up a moment after they are put in, and never once they are taken out. */
class Frame {
  className = "";
  tabIndex = 0;
  srcdoc = "";
  contentWindow = { print: () => page.print(this.srcdoc) };
  #onLoad: (() => void) | undefined;
  setAttribute() {}
  addEventListener(_: string, onLoad: () => void) {
    this.#onLoad = onLoad;
  }
  remove() {
    page.frames = page.frames.filter((one) => one !== this);
  }
  comeUp() {
    if (page.frames.includes(this)) this.#onLoad?.();
  }
}
const page = { frames: [] as Frame[], print: (_: string) => {} };

beforeEach(() => {
  vi.resetModules();
  vi.stubGlobal("window", {});
  vi.stubGlobal("document", {
    querySelector: () => page.frames[0],
    createElement: () => new Frame(),
    body: {
      append: (frame: Frame) => {
        page.frames.push(frame);
        setTimeout(() => frame.comeUp(), 1);
      },
    },
  });
});
afterEach(() => {
  vi.unstubAllGlobals();
  page.frames = [];
});

test("a paper asked for while another comes up waits for it: both are printed, both are over", async () => {
  const printed: string[] = [];
  page.print = (html) => void printed.push(html);
  const { printPaper } = await import("./paper-frame");
  await Promise.all([printPaper("tag"), printPaper("label")]);
  expect(printed).toEqual(["tag", "label"]);
  expect(page.frames).toHaveLength(1);
});

test("a dialog that does not open is a failure of that paper alone", async () => {
  const printed: string[] = [];
  page.print = (html) => {
    if (html === "tag") throw new Error("no printer");
    printed.push(html);
  };
  const { printPaper } = await import("./paper-frame");
  const [tag, label] = await Promise.allSettled([printPaper("tag"), printPaper("label")]);
  expect([tag.status, label.status, printed]).toEqual(["rejected", "fulfilled", ["label"]]);
});
