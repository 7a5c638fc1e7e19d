import type { Page } from "@playwright/test";
import type { Operation, WorkOrder } from "../../web-client/src/api/shapes";
import { expect, moveClock, signIn, test, type OpenShop } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { INES, RUI, TOMAS } from "./shop/people";

const eur = (amount: string) => ({ amount, currency: "EUR" });

/** A horn under examination with one step planned, its work on the screen. */
async function planned(page: Page, shop: OpenShop, name: string): Promise<{ order: WorkOrder; step: Operation }> {
  const [rui, tomas] = await Promise.all([shop.desk(RUI), shop.desk(TOMAS)]);
  const order = await rui.checkIn({ customer: { name, email: "horn@horn.example" }, instrument: { family: "horn" }, complaint: "Rattles", promised_on: workingDay(shop.moved, 8) });
  await tomas.claim(order.id);
  await tomas.move(order.id, "diagnosis", "examination_begins");
  const dent = await tomas.find(order.id, { kind: "dent", part: "bell", leaks: "no" });
  await tomas.amendFinding(dent.id, { disposition: "repair", disposition_reason: "The owner wishes it" }, dent.version);
  const step = await tomas.plan(order.id, { title: "Take the dent out", heat: "none", finding_ids: [dent.id], minutes: { low: 10, typical: 20, high: 30 }, price: eur("30.00") });
  await moveClock(page.context(), shop.moved);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${order.claim_number}/work`);
  return { order, step };
}

test("of a step that somebody else changed meanwhile, what was left to them stays theirs", async ({ page, shop }) => {
  const { order, step } = await planned(page, shop, "Wim Aker");
  const line = page.getByRole("listitem").filter({ hasText: "Take the dent out" });
  await line.getByRole("button", { name: "Change", exact: true }).click();
  const form = page.getByRole("form", { name: "Take the dent out" });
  await form.getByLabel("What", { exact: true }).fill("Take the dent out by hand");
  await form.getByLabel("Price", { exact: true }).fill("45");
  const ines = await shop.desk(INES);
  await ines.amendStep(step.id, { title: "Take the dent out on a ball", price: eur("38.00") }, step.version);
  await form.getByRole("button", { name: "Save" }).click();
  const beside = page.getByRole("alertdialog");
  await expect(beside).toContainText("38");
  // Their words, and the price that was typed here.
  await beside.getByRole("button", { name: "Take the dent out on a ball" }).click();
  await beside.getByRole("button", { name: "Done" }).click();
  await expect(beside).toHaveCount(0);
  await expect.poll(async () => (await ines.order(order.id)).operations.map((one) => [one.title, one.price.amount])).toEqual([["Take the dent out on a ball", "45.00"]]);
});

test("a plan that could not be fetched is told, and what was typed of a hold stays while another reason is looked at", async ({ page, shop }) => {
  const plan = /\/work-orders\/[^/]+\/plan$/;
  await page.route(plan, (route) => route.fulfill({ status: 500, contentType: "application/problem+json", body: JSON.stringify({ type: "internal", title: "Something went wrong here", status: 500 }) }));
  const { order } = await planned(page, shop, "Yara Moen");
  await expect(page.getByText("The plan could not be fetched", { exact: false })).toBeVisible();
  await page.unroute(plan);
  await page.reload();
  await expect(page.getByRole("listitem").filter({ hasText: "Take the dent out" })).toBeVisible();
  await expect(page.getByText("The plan could not be fetched", { exact: false })).toHaveCount(0);
  await page.getByRole("button", { name: "Hold…" }).click();
  await page.getByLabel("Supplier").fill("Ostrel");
  await page.getByLabel("Waits for").selectOption("customer");
  await expect(page.getByLabel("Supplier")).toBeHidden();
  await page.getByLabel("Waits for").selectOption("parts");
  await expect(page.getByLabel("Supplier")).toHaveValue("Ostrel");
  await page.getByLabel("Waits for").selectOption("customer");
  await page.getByRole("button", { name: "Hold it" }).click();
  // What was typed for the other reason is not told with this one.
  await expect.poll(async () => (await (await shop.desk(TOMAS)).order(order.id)).holds.map((one) => [one.reason, one.supplier ?? null])).toEqual([["customer", null]]);
});
