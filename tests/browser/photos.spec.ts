import { expect } from "@playwright/test";
import { picture } from "./shop/drawn";
import { signIn, test } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { RUI, TOMAS } from "./shop/people";
import { setScenes } from "./shop/scenes";

const file = (name: string, width: number, height: number) => ({ name, mimeType: "image/png", buffer: picture(width, height) });

test("a photo is taken at the bench, pinned, shared, seen by the owner, and struck", async ({ page, browser, shop }) => {
  const scenes = await setScenes(shop);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${scenes.extra.number}/photos`);
  const tab = page.getByRole("link", { name: /^Photos/ });
  await expect(tab).toHaveText(/^Photos\s*2$/);
  // The button at the foot, several at once.
  await page.getByLabel("Photo", { exact: true }).setInputFiles([file("one.png", 400, 300), file("two.png", 300, 400)]);
  await expect(tab).toHaveText(/^Photos\s*4$/);
  const cards = page.locator(".photo-cards > li");
  const card = cards.nth(2);
  await expect(card.getByText("Only the shop sees it.")).toBeVisible();
  await card.getByRole("button", { name: "Caption and pin…" }).click();
  await card.getByLabel("What is on it").fill("the crack, wetted");
  await card.getByLabel("Pinned to").selectOption({ index: 1 });
  await card.getByRole("button", { name: "Save" }).click();
  await expect(card.getByText("the crack, wetted")).toBeVisible();
  await expect(card.getByText(/^1\. Crack/)).toBeVisible();
  // What was not changed meanwhile stays: the sharing says nothing of caption and pin.
  await card.getByRole("button", { name: "Show it to the customer" }).click();
  await expect(card.getByText("The customer sees it.")).toBeVisible();
  await expect(card.getByText(/^1\. Crack/)).toBeVisible();
  // In large, by keyboard.
  await card.getByRole("button", { name: "the crack, wetted" }).press("Enter");
  const large = page.getByRole("dialog");
  await expect(large.getByRole("img", { name: "the crack, wetted" })).toBeVisible();
  await page.keyboard.press("ArrowRight");
  await expect(large.getByText("4 of 4")).toBeVisible();
  await page.keyboard.press("Escape");
  await expect(large).toBeHidden();
  await expect(page).toHaveURL(/\/photos$/);
  // The owner's own page, without script.
  const context = await browser.newContext({ javaScriptEnabled: false });
  const owner = await context.newPage();
  await owner.goto(scenes.extra.status);
  const seen = owner.getByRole("img", { name: "The crack, wetted" });
  await seen.scrollIntoViewIfNeeded();
  await expect.poll(async () => (await seen.boundingBox())?.width).toBe(400);
  await expect(owner.getByRole("img", { name: "The case as it came" })).toHaveCount(0);
  // Struck, with a reason; the record keeps who and why.
  await card.getByRole("button", { name: "Strike…" }).click();
  await card.getByRole("button", { name: "Blurred" }).click();
  await expect(tab).toHaveText(/^Photos\s*3$/);
  await page.getByText("1 struck photo").click();
  await expect(page.getByText(/the crack, wetted: struck by .*: Blurred/)).toBeVisible();
  // It is gone from the owner's page as well, which still shows the other one.
  await owner.reload();
  await expect(owner.getByRole("img", { name: "Under the old solder" })).toHaveCount(1);
  await expect(seen).toHaveCount(0);
  await context.close();
});

test("photos chosen in the check-in go after it, and a failure does not undo it", async ({ page, shop }) => {
  await setScenes(shop);
  await signIn(page, RUI);
  await page.goto("/check-in");
  await page.getByRole("combobox").first().fill("Petra Solberg");
  await page.getByRole("option", { name: /^New customer: Petra/ }).click();
  await page.getByLabel("Phone", { exact: true }).fill("0555 7712");
  await page.getByLabel("Family", { exact: true }).selectOption("trumpet");
  await page.getByLabel("Complaint in the customer’s words").fill("It hisses");
  await page.getByLabel(/^Take photos/).setInputFiles([file("bell.png", 300, 200), { name: "broken.jpg", mimeType: "image/jpeg", buffer: Buffer.from("no picture") }]);
  await expect(page.getByText("2 photos go with it.")).toBeVisible();
  // The day comes with the forecast.
  await expect(page.getByLabel("Planned for", { exact: true })).not.toHaveValue("");
  await page.keyboard.press("Control+Enter");
  await expect(page.getByText(/is checked in/)).toBeVisible();
  await expect(page.getByText("broken.jpg was not sent.")).toBeVisible();
  // Whoever goes on is still told of it, and led to where it is settled.
  await page.getByRole("link", { name: "Board", exact: true }).first().click();
  await expect(page.getByText(/^1 photo of \S+ was not sent\.$/)).toBeVisible();
  await page.getByRole("link", { name: "See why" }).click();
  await expect(page.getByText("broken.jpg was not sent.")).toBeVisible();
  await page.getByRole("button", { name: "Let it go" }).click();
  await expect(page.getByText("broken.jpg was not sent.")).toHaveCount(0);
  await expect(page.getByRole("link", { name: /^Photos/ })).toHaveText(/^Photos\s*1$/);
});

test("who begins the check-in anew takes no photo of the one before along", async ({ page, shop }) => {
  const rui = await shop.desk(RUI);
  await signIn(page, RUI);
  await page.goto("/check-in");
  await page.getByLabel("Complaint in the customer’s words").fill("Begun, and left");
  await page.reload();
  await expect(page.getByText("What was typed here before is still here.")).toBeVisible();
  await page.getByLabel(/^Take photos/).setInputFiles([file("somebody-elses.png", 300, 200)]);
  await expect(page.getByText("1 photo goes with it.")).toBeVisible();
  await page.getByRole("button", { name: "Begin anew" }).click();
  await expect(page.getByText("1 photo goes with it.")).toHaveCount(0);
  await page.getByRole("combobox").first().fill("Quirin Haxby");
  await page.getByRole("option", { name: /^New customer: Quirin/ }).click();
  await page.getByLabel("Phone", { exact: true }).fill("0555 7713");
  await page.getByLabel("Family", { exact: true }).selectOption("trumpet");
  await page.getByLabel("Complaint in the customer’s words").fill("It sticks");
  await expect(page.getByLabel("Planned for", { exact: true })).not.toHaveValue("");
  const made = page.waitForResponse((one) => one.url().endsWith("/work-orders") && one.request().method() === "POST");
  await page.keyboard.press("Control+Enter");
  const { id } = (await (await made).json()) as { id: string };
  await expect(page.getByText(/is checked in/)).toBeVisible();
  expect((await rui.order(id)).photos).toEqual([]);
});

test("photos of a finding that was written while the line was down are pinned to it when it is back", async ({ page, context, shop }) => {
  const scenes = await setScenes(shop);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${scenes.extra.number}/findings`);
  await page.getByRole("button", { name: "New finding" }).first().click();
  const form = page.getByRole("form", { name: "New finding" });
  await form.getByLabel("Kind").selectOption({ index: 1 });
  await form.getByLabel("Part", { exact: true }).selectOption({ index: 1 });
  await form.locator("input[type=file]").setInputFiles([file("dark.png", 120, 90)]);
  await context.setOffline(true);
  await form.getByRole("button", { name: "Record finding" }).click();
  await expect(page.getByText("dark.png was not sent.")).toBeVisible();
  await context.setOffline(false);
  await page.getByRole("button", { name: /^Try now/ }).click();
  await expect(page.getByText("dark.png was not sent.")).toHaveCount(0);
  const tomas = await shop.desk(TOMAS);
  const order = await tomas.order(scenes.extra.id);
  const newest = order.findings.at(-1);
  await expect.poll(async () => (await tomas.order(scenes.extra.id)).photos.filter((one) => one.finding_id === newest?.id).map((one) => one.shared)).toEqual([newest?.shared]);
});

test("a new caption leaves a photo at its finding, also when that was struck", async ({ page, shop }) => {
  const [rui, tomas] = await Promise.all([shop.desk(RUI), shop.desk(TOMAS)]);
  const { id, claim_number } = await rui.checkIn({ customer: { name: "Ines Palm", email: "ines@palm.example" }, instrument: { family: "cornet" }, complaint: "Rattles", promised_on: workingDay(shop.moved, 6) });
  await tomas.claim(id);
  await tomas.move(id, "diagnosis", "examination_begins");
  const dent = await tomas.find(id, { kind: "dent", part: "bell", leaks: "no" });
  await tomas.photo(id, { finding_id: dent.id, caption: "the bell" }, picture(300, 200));
  await tomas.amendFinding(dent.id, { struck_reason: "A reflection" }, dent.version);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${claim_number}/photos`);
  const card = page.locator(".photo-cards > li");
  await card.getByRole("button", { name: "Caption and pin…" }).click();
  await expect(card.getByLabel("Pinned to")).toHaveValue(dent.id);
  await card.getByLabel("What is on it").fill("the bell, from the side");
  await card.getByRole("button", { name: "Save" }).click();
  await expect(card.getByText("the bell, from the side")).toBeVisible();
  await expect(card.getByText(/^1\. Dent/)).toBeVisible();
  expect((await tomas.order(id)).photos.map((one) => [one.caption, one.finding_id])).toEqual([["the bell, from the side", dent.id]]);
  // Somebody else changes it while a form is open: what was said of that goes once it is shown anew.
  await card.getByRole("button", { name: "Caption and pin…" }).click();
  await card.getByLabel("What is on it").fill("the bell, later");
  await page.route(/\/api\/v1\/photos\/[^/]+$/, (route) => route.continue({ headers: { ...route.request().headers(), "if-match": '"1"' } }), { times: 1 });
  await card.getByRole("button", { name: "Save" }).click();
  await card.getByRole("button", { name: "Show it as it is now" }).click();
  await expect(card.getByRole("alert")).toHaveCount(0);
  await expect(card.getByLabel("What is on it")).toHaveValue("the bell, later");
  await card.getByRole("button", { name: "Save" }).click();
  await expect(card.getByText("the bell, later")).toBeVisible();
});
