import type { Page } from "@playwright/test";
import { expect, moveClock, signIn, test } from "./shop/fixtures";
import { expectInOrder, SIZES } from "./shop/looked-at";
import { INES } from "./shop/people";
import { setScenes, type Scenes } from "./shop/scenes";

test.describe.configure({ mode: "default", timeout: 60_000 });

let page: Page;
let scenes: Scenes;

test.beforeAll(async ({ browser, shop }) => {
  test.setTimeout(90_000);
  scenes = await setScenes(shop);
  const context = await browser.newContext({ baseURL: shop.url, viewport: SIZES.counter });
  await moveClock(context, shop.moved);
  page = await context.newPage();
  await signIn(page, INES);
});
test.afterAll(() => page.context().close());

const order = (scene: keyof Scenes, part = "") => {
  const of = scenes[scene];
  if (!("number" in of)) throw new Error(`${scene} has no number`);
  return `/work-orders/${of.number}${part === "" ? "" : `/${part}`}`;
};
const heading = (name: string | RegExp) => expect(page.getByRole("heading", { name, level: 1 })).toBeAttached();
const press = (name: string | RegExp) => page.getByRole("button", { name, exact: true }).first().click();

/** Every screen, in the state named, by what opens it. */
const SCREENS: Record<string, () => Promise<unknown>> = {
  "the board": async () => {
    await page.goto("/");
    await expect(page.locator("[data-tag]").first()).toBeVisible();
  },
  "the board, a tag in hand": async () => {
    await page.goto("/");
    await page.locator("[data-tag] > a").first().focus();
    await expect(page.getByRole("complementary", { name: "Tag in hand" })).toContainText("promised");
  },
  "the board, only the customer’s turn": async () => {
    await page.goto("/?show=customer");
    await expect(page.locator("[data-tag]").first()).toBeVisible();
  },
  "the list of keys": async () => {
    await page.goto("/");
    await expect(page.locator("[data-tag]").first()).toBeVisible();
    await page.keyboard.press("?");
    await expect(page.getByRole("dialog")).toBeVisible();
  },
  "the check-in, empty": async () => {
    await page.goto("/check-in");
    await heading("Check in");
  },
  "the check-in, something missing": async () => {
    await page.goto("/check-in");
    await page.getByRole("combobox").first().fill("Ada");
    await page.getByRole("option", { name: /Ada Lund/ }).click();
    await page.getByRole("radio", { name: /Trumpet/ }).check();
    await press(/^Check in, e-mail receipt/);
    await expect(page.getByText("Still needed:")).toBeVisible();
  },
  "work orders": async () => {
    await page.goto("/work-orders");
    await expect(page.getByRole("table").or(page.getByRole("list")).first()).toBeVisible();
  },
  "work orders, a search": async () => {
    await page.goto("/work-orders?q=lund");
    await expect(page.getByText("Ada Lund").first()).toBeVisible();
  },
  "work orders, nothing found": async () => {
    await page.goto("/work-orders?q=zzzzzz");
    await expect(page.getByText("Nothing fits “zzzzzz”.")).toBeVisible();
  },
  "no such work order": async () => {
    await page.goto("/work-orders/9999-1");
    await expect(page.getByText("There is no work order 9999-1 here.")).toBeVisible();
  },
  "findings, none yet": () => page.goto(order("diagnosis", "findings")).then(() => heading(/Clarinet/)),
  "findings, some undecided": () => page.goto(order("undecided", "findings")).then(() => heading(/Baritone/)),
  "a new finding": async () => {
    await page.goto(order("undecided", "findings"));
    await press("New finding");
    await expect(page.getByLabel("Size, mm")).toBeVisible();
  },
  "a decision against the suggestion": async () => {
    await page.goto(order("undecided", "findings"));
    await page.getByRole("radio", { name: "Declined" }).first().click();
    await expect(page.getByText(/against the suggestion/).or(page.getByText("declined").first()).first()).toBeVisible();
  },
  "work, running": () => page.goto(order("bench", "work")).then(() => heading(/Baritone/)),
  "a new step": async () => {
    await page.goto(order("bench", "work"));
    await press("Plan a step");
    await page.getByRole("button", { name: /^Heat, order/ }).click();
  },
  "extra work": async () => {
    await page.goto(order("bench", "work"));
    await press("Extra work…");
    await expect(page.getByRole("region", { name: "Extra work", exact: true })).toBeVisible();
  },
  "a note": async () => {
    await page.goto(order("bench", "work"));
    await press("Add a note");
  },
  "a quote being written": () => page.goto(order("draft", "quote")).then(() => heading(/Cornet/)),
  "a quote that is out": () => page.goto(order("quoted", "quote")).then(() => heading(/Tuba/)),
  "recording the owner’s answer": async () => {
    await page.goto(order("quoted", "quote"));
    await press("Record the owner’s answer");
    await press(/^Record: accepted/);
  },
  "a question of the owner": () => page.goto(order("question", "quote")).then(() => heading(/Horn/)),
  "a quote with a newer version": async () => {
    await page.goto(order("superseded", "quote"));
    await page.getByText("Earlier versions").click();
  },
  "extra work that waits for an answer": () => page.goto(order("extra", "work")).then(() => heading(/Baritone/)),
  "on hold": () => page.goto(order("held", "work")).then(() => heading(/Oboe/)),
  "a new hold": async () => {
    await page.goto(order("bench", "work"));
    await press("Hold…");
  },
  "tests": () => page.goto(order("leakTest", "tests")).then(() => heading(/Bassoon/)),
  "a test that fails": async () => {
    await page.goto(order("leakTest", "tests"));
    await press("Fail: say where");
    await press(/^Record: fail/);
    await expect(page.getByText("Choose the finding where it fails")).toBeVisible();
  },
  "letters": async () => {
    await page.goto(order("extra", "letters"));
    await press("Read it");
    await expect(page.locator("iframe, .letter, pre").first()).toBeVisible();
  },
  "history": () => page.goto(order("closed", "history")).then(() => heading(/Trumpet/)),
  "the hand-over": async () => {
    await page.goto(`${order("pickup")}/handover`);
    await expect(page.getByLabel("Who collects it")).toBeVisible();
  },
  "a hand-over that is done": () => page.goto(`${order("closed")}/handover`).then(() => heading(/Hand over/)),
  "the shop and its people": async () => {
    await page.goto("/shop");
    await expect(page.getByText("Where you are signed in")).toBeVisible();
  },
};

for (const [name, open] of Object.entries(SCREENS)) {
  test(`${name}: in order in every size, light and dark`, async () => {
    await open();
    await expectInOrder(page);
  });
}
