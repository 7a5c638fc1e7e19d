import { expect, moveClock, signIn, test } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { fill, press } from "./shop/keyboard";
import { INES, RUI } from "./shop/people";

test("whoever has no e-mail address is on the ring list until somebody was spoken with, and the order shows the calls", async ({ page, context, shop }) => {
  const [rui, ines] = await Promise.all([shop.desk(RUI), shop.desk(INES)]);
  const order = await rui.checkIn({ customer: { name: "Livia Brandt", phone: "0555 777 001" }, instrument: { family: "horn" }, complaint: "Stuck", promised_on: workingDay(shop.moved, 4) });
  await ines.claim(order.id);
  await ines.move(order.id, "diagnosis", "examination_begins");
  await ines.move(order.id, "pickup", "nothing_to_do", "A drop of oil was enough");

  await moveClock(context, shop.moved);
  await signIn(page, RUI);
  await page.goto("/ring-list");
  const line = page.getByRole("listitem").filter({ hasText: order.claim_number });
  await expect(line.getByRole("link", { name: /0555 777 001/ })).toHaveAttribute("href", "tel:0555777001");
  await expect(line).toContainText("Ready to collect: nothing to repair");
  await press(page, line.getByRole("button", { name: "No answer" }));
  await expect(line).toContainText("1 call: no answer");
  await fill(page, line.getByLabel("What was said with Livia Brandt"), "comes on Friday");
  await press(page, line.getByRole("button", { name: "Spoke" }));
  await expect(page.getByText("Livia Brandt: spoke, noted.")).toBeVisible();
  await expect(line).toHaveCount(0);

  await page.goto(`/work-orders/${order.claim_number}/letters`);
  const made = page.getByRole("region", { name: "Telephone calls" });
  await expect(made.getByRole("listitem")).toHaveCount(2);
  // The newest comes first.
  await expect(made.getByRole("listitem").first()).toContainText(/Spoke.*comes on Friday/);
  await expect(made.getByRole("listitem").last()).toContainText("No answer");
  // One that is noted here stands in the list at once.
  await press(page, made.getByRole("button", { name: "Note a call with Livia Brandt" }));
  await press(page, made.getByRole("button", { name: "Left a message" }));
  await expect(made.getByText("Livia Brandt: left a message, noted.")).toBeVisible();
  await expect(made.getByRole("listitem")).toHaveCount(3);
  await expect(made.getByRole("listitem").first()).toContainText("Left a message");
  // Nothing was decided on the telephone.
  expect((await rui.order(order.id)).stage).toBe("pickup");
});

test("what the evening could not fetch is said, and is not shown as an empty day", async ({ page }) => {
  await signIn(page, INES);
  let [isDown, asked] = [true, 0];
  await page.route("**/api/v1/evening", (route) => {
    asked += 1;
    if (!isDown) return route.continue();
    return route.fulfill({ status: 500, contentType: "application/problem+json", body: JSON.stringify({ type: "trouble", title: "Something went wrong here.", status: 500 }) });
  });
  await page.goto("/evening");
  const said = page.getByText("The day’s flames, bench looks and returned e-mails could not be fetched.");
  const again = page.getByRole("button", { name: "Try now" });
  await expect(said).toBeVisible();
  await expect(page.getByText("Something went wrong here.")).toBeVisible();
  const before = asked;
  await again.click();
  await expect.poll(() => asked).toBeGreaterThan(before);
  await expect(said).toBeVisible();
  isDown = false;
  // Whatever happens in the shop meanwhile has the day fetched anew as well, and then nothing is left to press.
  await again.click({ timeout: 3000 }).catch(() => undefined);
  await expect(page.getByRole("button", { name: /looked/i })).toBeVisible();
  await expect(page.getByText(/could not be fetched/)).toHaveCount(0);
});

test("calls that cannot be fetched are not told as none", async ({ page, context, shop }) => {
  const rui = await shop.desk(RUI);
  const order = await rui.checkIn({ customer: { name: "Pia Lenz", phone: "0555 777 002" }, instrument: { family: "horn" }, complaint: "Stuck", promised_on: workingDay(shop.moved, 4) });
  await moveClock(context, shop.moved);
  await signIn(page, RUI);
  const ofCalls = /\/work-orders\/[^/]+\/calls/;
  await page.route(ofCalls, (route) => route.fulfill({ status: 500, contentType: "application/problem+json", body: JSON.stringify({ type: "internal", title: "Something went wrong here", status: 500 }) }));
  await page.goto(`/work-orders/${order.claim_number}/letters`);
  const made = page.getByRole("region", { name: "Telephone calls" });
  await expect(made.getByRole("alert")).toContainText("Something went wrong here");
  await expect(made.getByText("Nobody has been rung about it.")).toHaveCount(0);
  await page.unroute(ofCalls);
  await press(page, made.getByRole("button", { name: "Ask again" }));
  await expect(made.getByText("Nobody has been rung about it.")).toBeVisible();
  await expect(made.getByRole("alert")).toHaveCount(0);
});
