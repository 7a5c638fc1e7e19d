import { expect, type Page } from "@playwright/test";
import axe from "axe-core";

/** The sizes every screen is made for: counter, bench tablet, telephone. */
export const SIZES = { counter: { width: 1366, height: 768 }, tablet: { width: 1024, height: 768 }, phone: { width: 390, height: 844 } };
export const SCHEMES = ["light", "dark"] as const;
/** WCAG 2.2: 1.4.10 Reflow, no scrolling in two directions at 320 CSS px; 1.4.4, a counter's screen at 200 %. */
const REFLOWED = { narrowest: { width: 320, height: 640 }, twice: { width: 683, height: 384 } };

/** All of axe's rules in every size, light and dark, and whether anything sticks out sideways. */
export async function expectInOrder(page: Page): Promise<void> {
  const wrong: string[] = [];
  for (const [size, viewport] of Object.entries({ ...SIZES, ...REFLOWED })) {
    await page.setViewportSize(viewport);
    await settled(page);
    const across = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (across > 0) wrong.push(`${size}: scrolls ${across} px sideways, for ${await page.evaluate(widest)}`);
    const stuck = await page.evaluate(stuckShare);
    if (stuck > MOST_STUCK) wrong.push(`${size}: what stays in place takes ${(100 * stuck).toFixed(0)} % of the window`);
    if (size in REFLOWED) continue;
    for (const colorScheme of SCHEMES) {
      await page.emulateMedia({ colorScheme });
      for (const { id, help, nodes } of await violations(page)) {
        wrong.push(`${size}, ${colorScheme}: ${id} (${help}): ${nodes.map((node) => `${node.target.join(" ")} ${node.any[0]?.message ?? ""}`).join(" | ")}`);
      }
    }
  }
  await page.emulateMedia({ colorScheme: "light" });
  await page.setViewportSize(SIZES.counter);
  expect(wrong).toEqual([]);
}

/** What stays in place while the rest scrolls leaves more than half of the window to the rest. */
const MOST_STUCK = 0.45;

/** The share of the window's height that strips cover which are stuck to its head or foot now. */
function stuckShare(): number {
  const heights = [...document.body.querySelectorAll("*")].map((one) => {
    const { position } = getComputedStyle(one);
    const box = one.getBoundingClientRect();
    const stays = (position === "fixed" || position === "sticky") && one.closest("dialog, [role=dialog]") === null;
    const atEdge = (box.top <= 1 && box.bottom > 1) || (box.bottom >= innerHeight - 1 && box.top < innerHeight - 1);
    return stays && atEdge && box.width > innerWidth / 2 ? box.height : 0;
  });
  return heights.reduce((sum, height) => sum + height, 0) / innerHeight;
}

/** The layout of the new size is drawn, and nothing moves any more. */
export async function settled(page: Page): Promise<void> {
  await page.evaluate(async () => {
    const frame = () => new Promise((drawn) => requestAnimationFrame(drawn));
    await frame();
    await frame();
    await Promise.all(document.getAnimations().map((one) => one.finished.catch(() => undefined)));
  });
}

/** What axe finds. It is put into the page once, not before every look. */
async function violations(page: Page): Promise<axe.Result[]> {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe.source);
  const found = await page.evaluate(async () => (await (window as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] })).violations);
  return found;
}

/** What sticks out, leaving aside what scrolls within a part of the page. */
function widest(): string {
  const clipped = (of: Element): boolean => of.parentElement !== null && (getComputedStyle(of.parentElement).overflowX !== "visible" || clipped(of.parentElement));
  const out = [...document.body.querySelectorAll("*")].filter((one) => one.getBoundingClientRect().right > window.innerWidth + 0.5 && !clipped(one));
  return out.slice(0, 6).map((one) => `<${one.localName} class="${one.className}">`).join(", ");
}

/**
 * Tab walks through the page: at each stop the focus is drawn, at least 2 px wide, inside the window
 * and not under something else (WCAG 2.2, 2.4.7, 2.4.11 and 2.4.13).
 */
export async function expectFocusSeen(page: Page, atLeast: number): Promise<void> {
  const wrong: string[] = [];
  const stops = new Set<string>();
  await page.evaluate(() => {
    if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    window.scrollTo(0, 0);
  });
  for (let step = 0; step < 150; step += 1) {
    await page.keyboard.press("Tab");
    const stop = await page.evaluate(() => {
      const at = document.activeElement;
      if (!(at instanceof HTMLElement) || at === document.body) return undefined;
      const ids: string[] = [];
      for (let one: Element | null = at; one !== null; one = one.parentElement) ids.push(`${one.localName}${[...(one.parentElement?.children ?? [])].indexOf(one)}`);
      const drawn = (of: Element | null) => {
        const style = of === null ? undefined : getComputedStyle(of);
        return style !== undefined && style.outlineStyle !== "none" && Number.parseFloat(style.outlineWidth) >= 2;
      };
      const box = at.getBoundingClientRect();
      const [x, y] = [box.left + Math.min(box.width / 2, 20), box.top + Math.min(box.height / 2, 20)];
      const above = document.elementFromPoint(x, y);
      const inside = x >= 0 && y >= 0 && x <= innerWidth && y <= innerHeight;
      const seen = inside && above !== null && (at.contains(above) || above.contains(at) || above.closest("label")?.contains(at) === true);
      const name = `<${at.localName} class="${at.className}"> ${(at.getAttribute("aria-label") ?? at.textContent ?? "").trim().slice(0, 40)}`;
      return { path: ids.join(">"), name, drawn: drawn(at) || drawn(at.closest("label")) || drawn(at.closest(".tag")), seen, above: above === null ? "outside" : `<${above.localName} class="${above.className}">` };
    });
    if (stop === undefined || stops.has(stop.path)) break;
    stops.add(stop.path);
    if (!stop.drawn) wrong.push(`not drawn: ${stop.name}`);
    if (!stop.seen) wrong.push(`hidden by ${stop.above}: ${stop.name}`);
  }
  expect(wrong).toEqual([]);
  expect(stops.size, "stops of Tab").toBeGreaterThanOrEqual(atLeast);
}
