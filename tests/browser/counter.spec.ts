import type { Page } from "@playwright/test";
import { expect, moveClock, type OpenShop, signIn, test } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { fill, press, tabTo } from "./shop/keyboard";
import { letter, linkIn } from "./shop/mailbox";
import { INES, MARTA, RUI, type Staff } from "./shop/people";

const button = (page: Page, name: string | RegExp) => page.getByRole("button", { name, exact: true });

async function atScreen(page: Page, shop: OpenShop, who: Staff): Promise<void> {
  await moveClock(page.context(), shop.moved);
  await signIn(page, who);
}

test("a strap that is lost is said so with its reason, and the order closes; letter and page tell it", async ({ page, browser, shop }) => {
  const [rui, ines] = await Promise.all([shop.desk(RUI), shop.desk(INES)]);
  const order = await rui.checkIn({
    customer: { name: "Sanna Wike", email: "sanna@wike.example" },
    instrument: { family: "saxophone", maker: "Tamsel" },
    complaint: "It sounds thin",
    promised_on: workingDay(shop.moved, 4),
    accessories: ["case", "strap"],
  });
  await ines.claim(order.id);
  await ines.move(order.id, "diagnosis", "examination_begins");
  await ines.move(order.id, "pickup", "nothing_to_do", "The reed was split; it plays.");

  await atScreen(page, shop, RUI);
  await page.goto(`/work-orders/${order.claim_number}/handover`);
  await tabTo(page, page.getByRole("checkbox", { name: "case" }));
  await page.keyboard.press("Space");
  await fill(page, page.getByLabel("Who collects it"), "Sanna Wike");
  await test.step("without a word on the strap it stays open", async () => {
    await press(page, button(page, "Hand over and close"));
    await expect(page.getByRole("alert")).toContainText("strap");
    expect((await rui.order(order.id)).stage).toBe("pickup");
  });
  await test.step("with its reason it closes", async () => {
    await fill(page, page.getByLabel("What is not ticked is lost: what became of it"), "Torn at the bench; a new one comes by post");
    await press(page, button(page, "Hand over and close"));
    await expect(page.getByText(`${order.claim_number} is closed.`)).toBeVisible();
  });
  const closed = await rui.order(order.id);
  expect(closed.stage).toBe("closed");
  expect(closed.accessories).toEqual([
    { name: "case", returned: true },
    { name: "strap", returned: false, lost: "Torn at the bench; a new one comes by post" },
  ]);
  const told = await letter(shop.server.data, "it was collected", (one) => one.to === "sanna@wike.example" && /was collected/.test(one.subject));
  expect(told.text).toMatch(/Not handed back[\s\S]*Strap: Torn at the bench; a new one comes by post/);
  const theirs = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
  const status = await theirs.newPage();
  await status.goto(linkIn(told, "status"));
  await expect(status.getByRole("heading", { name: "Not handed back" })).toBeVisible();
  await expect(status.getByRole("listitem").filter({ hasText: /^Strap/ })).toContainText("Torn at the bench; a new one comes by post");
  await theirs.close();
});

test("the proprietor sets on which days customers are written to again; what cannot be is said at its field", async ({ page, shop }) => {
  await atScreen(page, shop, MARTA);
  await page.goto("/shop");
  const form = page.getByRole("form", { name: "This shop" });
  const [quotes, pickup] = [form.getByLabel(/^Reminders of a quote/), form.getByLabel(/^Reminders to collect/)];
  await expect(quotes).toHaveValue("7, 14");
  await expect(pickup).toHaveValue("7, 21, 60");
  await test.step("days that do not rise are refused in their place", async () => {
    await fill(page, quotes, "10, 5");
    await press(page, form.getByRole("button", { name: "Save" }));
    await expect(quotes).toHaveAccessibleDescription(/Give at most ten days from 1 to 365 that rise/);
    await expect(quotes).toHaveAttribute("aria-invalid", "true");
    await expect(pickup).not.toHaveAttribute("aria-invalid", "true");
  });
  await test.step("days that rise are kept, and none is none", async () => {
    await fill(page, quotes, "5 10");
    await fill(page, pickup, " ");
    await press(page, form.getByRole("button", { name: "Save" }));
    await expect(form.getByText("Saved.")).toBeVisible();
    await expect(quotes).toHaveValue("5, 10");
    await expect(quotes).not.toHaveAttribute("aria-invalid", "true");
  });
  await page.reload();
  await expect(quotes).toHaveValue("5, 10");
  await expect(pickup).toHaveValue("");
  await shop.marta.amendShop({ quote_reminder_days: [7, 14], pickup_reminder_days: [7, 21, 60] });
});
