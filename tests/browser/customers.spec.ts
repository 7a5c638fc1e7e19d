import type { BrowserContext, Page } from "@playwright/test";
import { expect, test as base } from "./shop/fixtures";
import { press, tabTo } from "./shop/keyboard";
import { expectFocusSeen, expectInOrder } from "./shop/looked-at";
import { ZONE } from "./shop/hours";
import { MARTA, SHOP } from "./shop/people";
import { PAGES, type Shown } from "./shop/pages";
import { type Scenes, setScenes } from "./shop/scenes";
import { Server } from "./shop/server";

/** The customers' pages, by people whose browsers run no script. */
const test = base.extend<object, { scenes: Scenes; reader: BrowserContext }>({
  scenes: [async ({ shop }, use) => use(await setScenes(shop)), { scope: "worker", timeout: 180_000 }],
  reader: [
    async ({ browser }, use) => {
      const context = await browser.newContext({ javaScriptEnabled: false });
      await use(context);
      await context.close();
    },
    { scope: "worker" },
  ],
});

/**
 * axe is a script itself, so it looks at the same markup in a browser that runs some; everything
 * else is done where none runs.
 */
async function expectPageInOrder(page: Page): Promise<void> {
  const content = await page.content();
  const context = await page.context().browser()?.newContext();
  if (context === undefined) throw new Error("the browser is gone");
  const twin = await context.newPage();
  await twin.route(page.url(), (route) => route.fulfill({ body: content, contentType: "text/html; charset=utf-8" }));
  await twin.goto(page.url());
  await expectInOrder(twin);
  await context.close();
}

/** LOOK.md, section 9: under 60 kB without photos. */
const LARGEST = 60 * 1024;

async function show(page: Page, { link, says }: Shown, scenes: Scenes): Promise<void> {
  const answer = await page.goto(link(scenes));
  expect(answer?.status()).toBe(200);
  expect(answer?.headers()).toMatchObject({ "referrer-policy": "no-referrer", "cache-control": "no-store" });
  expect((await answer?.body())?.length).toBeLessThan(LARGEST);
  await expect(page.getByRole("main")).toContainText(says);
  expect(await page.locator("script").count(), "scripts").toBe(0);
}

for (const [name, shown] of Object.entries(PAGES)) {
  test(`${name}: in order in every size, light and dark, without script`, async ({ reader, scenes }) => {
    const page = await reader.newPage();
    await show(page, shown, scenes);
    await expectPageInOrder(page);
    await page.close();
  });
}

test("a link that was withdrawn says so, with the telephone number and nothing of the order", async ({ reader, scenes }) => {
  const page = await reader.newPage();
  const answer = await page.goto(scenes.withdrawn.status);
  expect(answer?.status()).toBeGreaterThanOrEqual(400);
  await expect(page.getByRole("main")).toContainText("+351 555 010 200");
  await expect(page.getByRole("main")).not.toContainText(/lund|trumpet|1000-8/i);
  await expectPageInOrder(page);
});

test("no answer goes without a name; what was typed is kept, and nothing was preselected", async ({ reader, scenes, shop }) => {
  const page = await reader.newPage();
  await page.goto(scenes.extra.answer);
  expect(await page.getByRole("checkbox", { checked: true }).count(), "boxes ticked beforehand").toBe(0);
  await expect(page.getByLabel("Your name")).toHaveValue("");
  // A mail scanner's client, and browsers of old, know nothing of `required`.
  await page.getByLabel("Your name").evaluate((field) => field.removeAttribute("required"));
  await tabTo(page, page.getByLabel("Or ask us something first"));
  await page.keyboard.type("Can I keep the old lacquer?");
  await press(page, page.getByRole("button", { name: "Send the question" }));
  await expect(page.getByRole("alert")).toContainText("Your name is missing");
  await expect(page.getByLabel("Or ask us something first")).toHaveValue("Can I keep the old lacquer?");
  await expectPageInOrder(page);
  expect((await shop.marta.order(scenes.extra.id)).open_question ?? null).toBeNull();
});

test("an answer shows what was recorded, and a mistake can be told", async ({ reader, scenes, shop }) => {
  const page = await reader.newPage();
  await page.goto(scenes.quoted.answer);
  await page.getByLabel("Your name").fill("Edda Brandt");
  await page.getByRole("button", { name: /^Yes, go ahead/ }).click();
  await expect(page.getByRole("main")).toContainText("Edda Brandt");
  await expectPageInOrder(page);
  expect((await shop.marta.order(scenes.quoted.id)).stage).toBe("bench");
  // Sending the page again, as a reload does, changes nothing.
  await page.reload();
  const { quotes } = await shop.marta.order(scenes.quoted.id);
  expect(quotes.filter((one) => one.decision?.answer === "accepted")).toHaveLength(1);
  await press(page, page.getByRole("button", { name: /mistake/i }).or(page.getByRole("link", { name: /mistake/i })).first());
  await expectPageInOrder(page);
});

test("opening the link decides nothing", async ({ reader, scenes, shop }) => {
  const before = await shop.marta.order(scenes.extra.id);
  for (const method of ["get", "head"] as const) await reader.request[method](scenes.extra.answer);
  const after = await shop.marta.order(scenes.extra.id);
  expect(after.stage).toBe(before.stage);
  expect(after.quotes.map((one) => one.decision)).toEqual(before.quotes.map((one) => one.decision));
});

test("the focus is seen at every stop of the answer page", async ({ reader, scenes }) => {
  const page = await reader.newPage();
  await page.goto(scenes.extra.answer);
  await expectFocusSeen(page, 5);
});

test("the proprietor opens the shop by the printed link, once, without script", async ({ browser, shop }) => {
  const server = await Server.start(shop.moved);
  try {
    const context = await browser.newContext({ javaScriptEnabled: false });
    const page = await context.newPage();
    await page.goto(server.firstLink);
    await expectPageInOrder(page);
    await page.getByLabel("Name of the shop").fill(SHOP);
    await page.getByLabel("Time zone").fill("Nowhere/At all");
    await page.getByLabel("Currency").fill("EUR");
    await page.getByLabel("Your name").fill(MARTA.name);
    await page.getByLabel("Initials").fill(MARTA.initials);
    await page.getByLabel("E-mail").fill(MARTA.email);
    await page.getByLabel("Password").fill(MARTA.password);
    await page.getByRole("button", { name: "Open the shop" }).click();
    await expect(page.getByRole("alert")).toContainText("Not opened yet.");
    await expect(page.getByLabel("Name of the shop")).toHaveValue(SHOP);
    await expectPageInOrder(page);
    await page.getByLabel("Time zone").fill(ZONE);
    await page.getByLabel("Password").fill(MARTA.password);
    await page.getByRole("button", { name: "Open the shop" }).click();
    await expect(page.getByRole("heading", { level: 1 })).toHaveText("Your shop is open");
    await expectPageInOrder(page);
    await page.goto(server.firstLink);
    await expect(page.getByRole("heading", { level: 1 })).toHaveText("This page opens nothing");
    await expectPageInOrder(page);
    await context.close();
  } finally {
    await server.stop();
  }
});
