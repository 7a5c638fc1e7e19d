import type { Page } from "@playwright/test";
import { expect, moveClock, signIn, test } from "./shop/fixtures";
import { press, tabTo } from "./shop/keyboard";
import { INES, RUI, TOMAS } from "./shop/people";
import { workingDay } from "./shop/hours";

const eur = (amount: string) => ({ amount, currency: "EUR" });
const button = (page: Page, name: string | RegExp) => page.getByRole("button", { name, exact: true });

test("a customer withdraws while a slide is off: a technician puts it together and confirms, then it is on the shelf", async ({ browser, shop }) => {
  const [rui, ines] = await Promise.all([shop.desk(RUI), shop.desk(INES)]);
  const order = await rui.checkIn({
    customer: { name: "Runa Falk", phone: "0555 310 440", email: "runa@falk.example" },
    instrument: { family: "flugelhorn", maker: "Harrow" },
    complaint: "A slide is frozen",
    promised_on: workingDay(shop.moved, 6),
    accessories: ["case"],
  });
  await ines.claim(order.id);
  await ines.move(order.id, "diagnosis", "examination_begins");
  const stuck = await ines.find(order.id, { kind: "slide", part: "tuning slide", leaks: "no" });
  await ines.amendFinding(stuck.id, { disposition: "repair" }, stuck.version);
  const off = await ines.plan(order.id, { title: "Take the slides out", kind: "take_apart", heat: "none", finding_ids: [stuck.id], minutes: { low: 10, typical: 15, high: 25 }, price: eur("20.00") });
  const draft = await ines.draft(order.id, { lines: [{ kind: "labour", text: "Take the slides out", quantity: "1", unit_price: "20.00", tax_class: "standard", operation_id: off.id }], limit: eur("60.00") });
  await ines.send(order.id, draft.id);
  const sent = (await ines.order(order.id)).quotes.find((one) => one.id === draft.id);
  if (sent === undefined) throw new Error("the quote did not go out");
  await rui.answer(sent, "accepted", "Runa Falk");
  await ines.clock(off.id, "start");
  await ines.clock(off.id, "done");

  const atDesk = await browser.newContext({ baseURL: shop.url });
  await moveClock(atDesk, shop.moved);
  const desk = await atDesk.newPage();
  await signIn(desk, RUI);
  await desk.goto(`/work-orders/${order.claim_number}`);
  await test.step("the front desk is told the way: end it early", async () => {
    await press(desk, button(desk, "End it early…"));
    await press(desk, button(desk, "Customer wants it back as it is"));
    await expect(desk.getByText("Withdrawn by the customer: Customer wants it back as it is.")).toBeVisible();
    await expect(button(desk, "It is together, to the shelf")).toHaveCount(0);
  });

  const atBench = await browser.newContext({ baseURL: shop.url });
  await moveClock(atBench, shop.moved);
  const bench = await atBench.newPage();
  await signIn(bench, TOMAS);
  await bench.goto(`/work-orders/${order.claim_number}/work`);
  await test.step("the technician plans and does the step that puts it together", async () => {
    await press(bench, bench.getByRole("link", { name: "Plan the step that puts it together" }));
    await expect(bench.getByLabel("What", { exact: true })).toHaveValue("Put together");
    for (const [label, minutes] of [["from", "10"], ["usually", "15"], ["to", "20"]] as const) {
      await tabTo(bench, bench.getByLabel(label, { exact: true }));
      await bench.keyboard.type(minutes);
    }
    await press(bench, button(bench, "Put it on the plan"));
    const line = bench.getByRole("listitem").filter({ hasText: "Put together" });
    await press(bench, line.getByRole("button", { name: "Start", exact: true }));
    await press(bench, line.getByRole("button", { name: "Done", exact: true }));
    await expect(line.getByText("done", { exact: true })).toBeVisible();
  });
  await test.step("and confirms the end", async () => {
    await press(bench, button(bench, "It is together, to the shelf"));
    await expect(bench.getByRole("banner")).toContainText("Pickup:");
  });
  expect((await rui.order(order.id)).stage).toBe("pickup");
  // The front desk's screen followed, without being asked.
  await expect(desk.getByRole("banner")).toContainText("Pickup:");
  await Promise.all([atDesk.close(), atBench.close()]);
});
