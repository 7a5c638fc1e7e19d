import type { Page } from "@playwright/test";
import type { NewWorkOrder } from "../../web-client/src/api/shapes";
import type { Desk } from "./shop/desk";
import { expect, moveClock, signIn, test, type OpenShop } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { RUI, TOMAS } from "./shop/people";

/** A trumpet whose only step is done and which now has to pass its leak test, the test on the screen. */
async function tested(page: Page, shop: OpenShop, serial_number: string): Promise<{ tomas: Desk; id: string }> {
  const [rui, tomas] = await Promise.all([shop.desk(RUI), shop.desk(TOMAS)]);
  const brought: NewWorkOrder = {
    customer: { name: `Ivo Marsh ${serial_number}`, email: "ivo@marsh.example" },
    instrument: { family: "trumpet", maker: "Tamsel", serial_number },
    complaint: "Hisses",
    promised_on: workingDay(shop.moved, 9),
    accessories: [],
  };
  const { id, claim_number } = await rui.checkIn(brought);
  await tomas.claim(id);
  await tomas.move(id, "diagnosis", "examination_begins");
  const crack = await tomas.find(id, { kind: "crack", part: "bell bow", leaks: "yes" });
  await tomas.amendFinding(crack.id, { disposition: "repair" }, crack.version);
  const step = await tomas.plan(id, { title: "Patch the crack", heat: "none", finding_ids: [crack.id], minutes: { low: 10, typical: 20, high: 30 }, price: { amount: "20.00", currency: "EUR" } });
  const draft = await tomas.draft(id, { lines: [{ kind: "labour", text: step.title, quantity: "1", unit_price: "20.00", tax_class: "standard", operation_id: step.id }], limit: { amount: "40.00", currency: "EUR" } });
  await tomas.send(id, draft.id);
  const sent = (await tomas.order(id)).quotes.find((one) => one.id === draft.id);
  if (sent === undefined) throw new Error("the quote did not go out");
  await rui.answer(sent, "accepted", "Ivo Marsh");
  await tomas.clock(step.id, "start");
  await tomas.clock(step.id, "done");
  await tomas.move(id, "leak_test", "bench_done");
  await moveClock(page.context(), shop.moved);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${claim_number}/tests`);
  await page.getByRole("form", { name: "Record a test" }).waitFor();
  return { tomas, id };
}

test("a test of one part is recorded of that part, and of nothing while nobody said which", async ({ page, shop }) => {
  const { tomas, id } = await tested(page, shop, "P 1");
  const form = page.getByRole("form", { name: "Record a test" });
  await form.getByRole("radio", { name: "One part" }).click();
  await form.getByRole("button", { name: "Pass", exact: true }).click();
  await expect(form.getByText("Choose the part that was tested", { exact: false })).toBeVisible();
  await expect(form.getByLabel("One part", { exact: true })).toBeFocused();
  expect((await tomas.order(id)).tests).toEqual([]);
  await form.getByLabel("One part", { exact: true }).selectOption({ label: "leadpipe" });
  await form.getByRole("button", { name: "Pass", exact: true }).click();
  await expect(page.locator(".tests").first()).toContainText("leadpipe");
  expect((await tomas.order(id)).tests.map((one) => [one.kind, one.scope, one.verdict])).toEqual([["leak_test", "leadpipe", "passed"]]);
});

test("what was written of a failure stays while something else is looked at, and spots are named by a tap or not told", async ({ page, shop }) => {
  const { tomas, id } = await tested(page, shop, "P 2");
  const form = page.getByRole("form", { name: "Record a test" });
  await form.getByRole("button", { name: "Fail: pin where" }).click();
  await form.getByRole("radio", { name: "A new finding" }).click();
  await form.getByLabel("Kind", { exact: true }).selectOption({ label: "Open joint" });
  await form.getByLabel("Part", { exact: true }).selectOption({ label: "leadpipe" });
  await form.getByLabel("Note", { exact: true }).fill("bubbles at the seam");
  await form.getByLabel("More exactly, in words").fill("under the brace");
  // Another choice, another test, and back: nothing is lost.
  await form.getByRole("radio", { name: /^1\. Crack/ }).click();
  await form.getByRole("radio", { name: "A new finding" }).click();
  await form.getByRole("radio", { name: "Play test" }).click();
  await form.getByRole("radio", { name: "Leak test" }).click();
  await form.getByRole("button", { name: "Leave it" }).click();
  await form.getByRole("button", { name: "Fail: pin where" }).click();
  await expect(form.getByLabel("Note", { exact: true })).toHaveValue("bubbles at the seam");
  await expect(form.getByLabel("Part", { exact: true })).toHaveValue("leadpipe");
  await expect(form.getByLabel("More exactly, in words")).toHaveValue("under the brace");
  await expect(form.getByRole("radio", { name: "Leaks", exact: true })).toBeChecked();
  // How much, and nobody said where.
  await form.getByRole("button", { name: "It leaks elsewhere too" }).click();
  await form.getByRole("radiogroup", { name: "How much at spot 2" }).getByRole("radio", { name: "Clear" }).click();
  await form.getByRole("button", { name: /^Record: fail/ }).click();
  await expect(form.getByLabel("Spot 2", { exact: true })).toBeFocused();
  await expect(form.getByText("Choose the part or joint", { exact: false })).toBeVisible();
  // A number on the map is a spot too, and leaves the finding where it fails as it is.
  await form.locator(".map [data-finding]").first().click();
  await expect(form.getByLabel("Spot 2", { exact: true })).toHaveValue("bell bow");
  await expect(form.getByRole("radio", { name: "A new finding" })).toBeChecked();
  await form.getByRole("button", { name: /^Record: fail/ }).click();
  await expect.poll(async () => (await tomas.order(id)).tests.length).toBe(1);
  const order = await tomas.order(id);
  expect(order.tests[0]).toMatchObject({ verdict: "failed", where_words: "under the brace", spots: [{ part: "leadpipe" }, { part: "bell bow", how_much: "clear" }] });
  expect(order.findings.at(-1)).toMatchObject({ kind: "open_joint", part: "leadpipe", note: "bubbles at the seam", leaks: "yes" });
});
