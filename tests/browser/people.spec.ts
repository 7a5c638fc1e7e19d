import { expect, moveClock, signIn, test } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { fill, press } from "./shop/keyboard";
import { letter } from "./shop/mailbox";
import { MARTA, RUI } from "./shop/people";

/** The address of the page on which a password is chosen. */
function passwordLink(text: string): string {
  const link = /https?:\S+\/password\/[\w-]+/.exec(text)?.[0];
  if (link === undefined) throw new Error(`no link in ${text}`);
  return link;
}

test("somebody is invited, chooses a password on a page without script, forgets it and chooses another", async ({ page, browser, shop }) => {
  await moveClock(page.context(), shop.moved);
  await signIn(page, MARTA);
  await page.goto("/shop");
  await press(page, page.getByRole("button", { name: "Add a person" }));
  const form = page.getByRole("form", { name: "Add a person" });
  await fill(page, form.getByLabel("Name"), "Ada");
  await fill(page, form.getByLabel("Initials"), "AH");
  await fill(page, form.getByLabel("E-mail", { exact: true }), "ada@harbour.example");
  await form.getByRole("checkbox", { name: "Technician" }).press("Space");
  await press(page, form.getByRole("button", { name: "Invite them" }));
  await expect(page.getByText(/^The link is on its way to ada@harbour.example/)).toBeVisible();
  await expect(page.getByText(/No mail server is set up, so invitations/)).toContainText("mailbox/new");

  const invited = await letter(shop.server.data, "the invitation", (one) => one.to === "ada@harbour.example");
  const plain = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
  const theirs = await plain.newPage();
  await theirs.goto(passwordLink(invited.text));
  await theirs.getByLabel("Your name").fill("Ada Holm");
  await theirs.getByLabel("Password").fill("slow river reeds");
  await theirs.getByRole("button", { name: "Keep this password" }).click();
  await expect(theirs.getByRole("heading", { name: "Your password is kept" })).toBeVisible();

  const own = await browser.newContext();
  await moveClock(own, shop.moved);
  const door = await own.newPage();
  await door.goto("/");
  await test.step("forgotten", async () => {
    await door.getByLabel("E-mail").fill("ada@harbour.example");
    await press(door, door.getByRole("button", { name: "I forgot my password" }));
    await expect(door.getByLabel("E-mail")).toHaveValue("ada@harbour.example");
    await press(door, door.getByRole("button", { name: "Send me the link" }));
    await expect(door.getByRole("status")).toContainText("If somebody signs in with ada@harbour.example");
  });
  const forgotten = await letter(shop.server.data, "the link for a new password", (one) => one.to === "ada@harbour.example" && /new password/i.test(one.subject));
  await theirs.goto(passwordLink(forgotten.text));
  await theirs.getByLabel("Password").fill("long notes at noon");
  await theirs.getByRole("button", { name: "Keep this password" }).click();
  await press(door, door.getByRole("button", { name: "Back to signing in" }));
  await door.getByLabel("E-mail").fill("ada@harbour.example");
  await door.getByLabel("Password").fill("long notes at noon");
  await press(door, door.getByRole("button", { name: "Show it" }));
  await expect(door.getByLabel("Password")).toHaveAttribute("type", "text");
  await press(door, door.getByRole("button", { name: "Sign in" }));
  await door.locator("main.rails").waitFor();
  await own.close();
  await plain.close();
});

test("where it hangs is said in two keystrokes, a date that moves is told, and the history shows both", async ({ page, shop }) => {
  const rui = await shop.desk(RUI);
  const order = await rui.checkIn({
    customer: { name: "Sanna Wike", email: "sanna@wike.example" },
    instrument: { family: "saxophone", maker: "Tamsel", serial_number: "T 88" },
    complaint: "It sounds thin",
    promised_on: workingDay(shop.moved, 20),
    accessories: ["case"],
  });
  await moveClock(page.context(), shop.moved);
  await signIn(page, RUI);
  await page.goto(`/work-orders/${order.claim_number}/history`);
  const facts = page.getByRole("complementary", { name: "At the counter" });
  await facts.waitFor();
  await page.keyboard.press("p");
  await page.getByRole("form", { name: "Where is it now?" }).waitFor();
  await page.keyboard.press("5");
  await expect(facts).toContainText("Rack A");
  await page.keyboard.press("d");
  const form = page.getByRole("form", { name: "Planned for" });
  const later = workingDay(shop.moved, 25);
  await form.getByLabel("Planned for").fill(later);
  await press(page, form.getByRole("button", { name: "A part comes later than we were told" }));
  await press(page, form.getByRole("button", { name: "Move the date" }));
  await expect(form).toBeHidden();
  const told = await letter(shop.server.data, "the moved date", (one) => one.to === "sanna@wike.example" && /planned for/.test(one.subject));
  expect(told.text).toContain("A part comes later than we were told");
  await expect(page.getByText(/^Place: none → Rack A$/)).toBeVisible();
  expect((await rui.order(order.id)).promised_on).toBe(later);
});

test("a sheet of settings takes over what somebody else saved meanwhile, and asks where both changed the same", async ({ page, shop }) => {
  const { marta } = shop;
  await signIn(page, MARTA);
  await page.goto("/shop");
  await page.getByText("Leak limits and air spaces").click();
  const sheet = page.getByRole("form", { name: "Leak limits and air spaces" });
  const limit = (family: string) => sheet.getByLabel(`${family}: Leak limit, ml of air a minute`, { exact: true });
  // Typed above it and not saved: a sheet that is saved below takes nothing of it away.
  const rate = page.getByLabel(/^Labour, an hour/);
  await rate.fill("71");
  await limit("trumpet").fill("5");
  await limit("horn").fill("6");
  // The same shop in another window: one family that is typed here too, and one that is not.
  await marta.amendShop({ test_settings: { leak_limits: [{ family: "trumpet", limit_pa_m3_s: 0.02 }, { family: "tuba", limit_pa_m3_s: 0.03 }] } });
  await sheet.getByRole("button", { name: "Save" }).click();
  const asked = page.getByRole("alertdialog");
  await expect(asked).toContainText("trumpet: Leak limit, ml of air a minute");
  await expect(asked).toContainText("tuba: Leak limit, ml of air a minute: 17.765");
  await expect(asked).not.toContainText("horn:");
  await asked.getByRole("button", { name: "11.843" }).click();
  await asked.getByRole("button", { name: "Done, save as chosen" }).click();
  await expect(sheet.getByText("Saved.")).toBeVisible();
  await expect(limit("trumpet")).toHaveValue("11.843");
  await expect(limit("tuba")).toHaveValue("17.765");
  await expect(limit("horn")).toHaveValue("6");
  await expect(rate).toHaveValue("71");
  const { test_settings } = await marta.shop();
  expect(test_settings.leak_limits?.map((one) => [one.family, Math.round(one.limit_pa_m3_s * 1e4) / 1e4]).toSorted()).toEqual([["horn", 0.0101], ["trumpet", 0.02], ["tuba", 0.03]]);
  // The form above goes on from there.
  await page.getByRole("form", { name: "This shop" }).getByRole("button", { name: "Save" }).click();
  await expect(page.getByRole("form", { name: "This shop" }).getByText("Saved.")).toBeVisible();
  await marta.amendShop({ test_settings: {}, labour_rate: "64.00" });
});
