import { expect, type Locator, type Page } from "@playwright/test";

/** More stops than any screen has. */
const MOST = 120;

/** Walks with Tab until the thing has the focus: it can be reached, and nothing on the way keeps the focus. */
export async function tabTo(page: Page, target: Locator): Promise<void> {
  await target.waitFor();
  for (let step = 0; step <= MOST; step += 1) {
    if (await target.evaluate((element) => element === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`Tab never comes to ${target}`);
}

/** Goes to a button or a link and presses Enter on it, once the act before it is through. */
export async function press(page: Page, target: Locator): Promise<void> {
  // A button can take the place and the focus of the one just pressed while that act still runs.
  await expect(target).toBeEnabled();
  await tabTo(page, target);
  await page.keyboard.press("Enter");
}

/** Goes to a field and types into it, over what stands there. */
export async function fill(page: Page, target: Locator, text: string): Promise<void> {
  await tabTo(page, target);
  await page.keyboard.press("ControlOrMeta+a");
  await page.keyboard.type(text);
}

/**
 * Goes to a list of one choice and chooses by typing its first letters. Letters that come more than a second apart
 * begin anew, as for a person on a slow machine, who would type them again.
 */
export async function choose(page: Page, target: Locator, typed: string): Promise<void> {
  await tabTo(page, target);
  await expect(async () => {
    await page.keyboard.type(typed);
    const chosen = await target.evaluate((list) => (list instanceof HTMLSelectElement ? list.selectedOptions[0]?.label ?? "" : ""));
    expect(chosen.toLowerCase().startsWith(typed.toLowerCase()), `${typed}: ${chosen} was chosen`).toBe(true);
  }).toPass({ intervals: [1500] });
}

/** Leaves the field, so that letters are keys of the screen again. */
export async function leave(page: Page): Promise<void> {
  await page.keyboard.press("Escape");
}
