import { type Browser, type BrowserContext, expect, type Page } from "@playwright/test";
import { moveClock, type OpenShop, signIn } from "./fixtures";
import { MARTA } from "./people";

declare global {
  interface Window {
    hung?: { number: string; rail: string; text: string; at: number }[];
  }
}

/**
 * How long a tag is waited for on a busy machine, ms. A board whose stream is broken only looks again after 40 s of
 * silence, so what hangs by then came by the stream. How quick it is, is measured and told, never judged here.
 */
const PATIENCE_MS = 15_000;

/** Somebody who only looks at the board, and when each tag was seen where. */
export class BoardWatch {
  /** How long after its answer each change was on the board, ms; negative when it was there first. */
  readonly took: number[] = [];

  private constructor(
    private readonly context: BrowserContext,
    readonly page: Page,
  ) {}

  static async begin(browser: Browser, shop: OpenShop): Promise<BoardWatch> {
    const context = await browser.newContext({ baseURL: shop.url });
    await moveClock(context, shop.moved);
    await context.addInitScript(() => {
      const hung: NonNullable<Window["hung"]> = [];
      window.hung = hung;
      const last = new Map<string, string>();
      new MutationObserver(() => {
        const at = performance.timeOrigin + performance.now();
        const now = new Map<string, { rail: string; text: string }>();
        for (const tag of document.querySelectorAll("[data-tag]")) {
          const rail = tag.closest("section")?.getAttribute("aria-labelledby")?.replace("rail-", "") ?? "";
          now.set(tag.querySelector(".no")?.textContent ?? "", { rail, text: tag.textContent ?? "" });
        }
        for (const number of last.keys()) if (!now.has(number)) now.set(number, { rail: "gone", text: "" });
        for (const [number, { rail, text }] of now) {
          if (last.get(number) === rail + text) continue;
          last.set(number, rail + text);
          hung.push({ number, rail, text, at });
        }
      }).observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
    });
    const page = await context.newPage();
    await signIn(page, MARTA);
    return new BoardWatch(context, page);
  }

  /** The tag comes to hang on this rail, with these words, without anybody reloading the board. */
  async shows(number: string, rail: string, act: { began: number; answered: number }, words = ""): Promise<void> {
    const seen = await this.page.waitForFunction(
      ([number, rail, words, began]) => window.hung?.find((one) => one.number === number && one.rail === rail && one.text.includes(words) && one.at >= began)?.at,
      [number, rail, words, act.began] as const,
      { timeout: PATIENCE_MS, polling: 20 },
    );
    this.took.push(Math.round(Number(await seen.jsonValue()) - act.answered));
  }

  async end(): Promise<void> {
    await this.context.close();
  }
}

/** Does something that asks the server, and tells when it began and when the answer was there. */
export async function timed(page: Page, address: RegExp, act: () => Promise<void>): Promise<{ began: number; answered: number }> {
  const began = Date.now();
  const [response] = await Promise.all([
    page.waitForResponse((one) => one.request().method() !== "GET" && address.test(new URL(one.url()).pathname)),
    act(),
  ]);
  await response.finished();
  expect(response.ok() || response.status() === 303, `${response.request().method()} ${response.url()}: ${response.status()}`).toBe(true);
  const { startTime, responseEnd } = response.request().timing();
  return { began, answered: startTime + responseEnd };
}
