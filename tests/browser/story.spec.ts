import type { Browser, Page } from "@playwright/test";
import type { NewPerson } from "../../web-client/src/api/shapes";
import { BoardWatch, timed } from "./shop/board-watch";
import { expect, moveClock, type OpenShop, signIn, test } from "./shop/fixtures";
import { choose, fill, leave, press, tabTo } from "./shop/keyboard";
import { letter, linkIn } from "./shop/mailbox";
import { INES, RUI } from "./shop/people";

const OWNER = { name: "Joana Faro", email: "joana@faro.example" };

async function atWork(browser: Browser, shop: OpenShop, person: NewPerson): Promise<Page> {
  const context = await browser.newContext({ baseURL: shop.url });
  await moveClock(context, shop.moved);
  const page = await context.newPage();
  await signIn(page, person);
  return page;
}

/** The owner's own browser, with script switched off: opens the link and types a name. */
async function owner(browser: Browser, link: string): Promise<Page> {
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
  const page = await context.newPage();
  await page.goto(link);
  await fill(page, page.getByLabel("Your name"), OWNER.name);
  return page;
}

/** Opens a work order as one does at the bench: the number is typed or scanned into the search. */
async function open(page: Page, number: string): Promise<void> {
  await page.keyboard.press("/");
  await page.keyboard.type(number);
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1 })).toContainText(number);
}

const part = (page: Page, name: string) => page.getByRole("navigation", { name: "Work order" }).getByRole("link", { name });
const button = (page: Page, name: string | RegExp) => page.getByRole("button", { name, exact: true });

test("a baritone comes in, is repaired with a second crack on the way, and goes home", async ({ browser, shop }) => {
  test.setTimeout(150_000);
  const watch = await BoardWatch.begin(browser, shop);
  const rui = await atWork(browser, shop, RUI);
  const ines = await atWork(browser, shop, INES);
  const orders = /\/work-orders/;

  await test.step("the front desk checks it in", async () => {
    await rui.keyboard.press("c");
    await expect(rui.getByRole("combobox", { name: /Any three digits/ })).toBeFocused();
    await rui.keyboard.type(OWNER.name);
    await expect(rui.getByRole("option", { name: `New customer: ${OWNER.name}` })).toBeVisible();
    await rui.keyboard.press("Enter");
    await expect(rui.getByLabel("Name", { exact: true })).toBeFocused();
    await expect(rui.getByLabel("Name", { exact: true })).toHaveValue(OWNER.name);
    await rui.keyboard.press("Enter");
    await rui.keyboard.type("0555 281 904");
    await rui.keyboard.press("Enter");
    await rui.keyboard.type(OWNER.email);
    for (let stop = 0; stop < 3; stop += 1) await rui.keyboard.press("Enter");
    await expect(rui.getByLabel("Family")).toBeFocused();
    await rui.keyboard.type("baritone");
    await rui.keyboard.press("Enter");
    await rui.keyboard.type("Corvane");
    await leave(rui);
    await rui.keyboard.press("3");
    await rui.keyboard.type("Hisses on low notes, and the third valve is slow");
    await rui.keyboard.press("Enter");
    await rui.keyboard.press("ArrowDown");
    await rui.keyboard.press("d");
    await expect(button(rui, /^Dent/)).toHaveAttribute("aria-pressed", "true");
    await leave(rui);
    await rui.keyboard.press("5");
    await rui.keyboard.press("Space");
    await rui.keyboard.press("Escape");
    await rui.keyboard.press("8");
    for (let day = 0; day < 7; day += 1) await rui.keyboard.press("ArrowUp");
    await expect(rui.getByText("in 7 working days")).toBeVisible();
  });

  const checkedIn = await timed(rui, orders, () => rui.keyboard.press("Control+Enter"));
  const news = await rui.getByRole("status").filter({ hasText: "is checked in" }).textContent();
  const number = /\d{4,}-\d/.exec(news ?? "")?.[0] ?? "";
  expect(number).not.toBe("");
  await watch.shows(number, "intake", checkedIn);
  await letter(shop.server.data, "the receipt", (one) => one.to === OWNER.email);

  await test.step("a technician claims and examines it", async () => {
    await open(ines, number);
    await watch.shows(number, "intake", await timed(ines, /claim$/, () => press(ines, button(ines, "Claim it"))), INES.initials);
    await watch.shows(number, "diagnosis", await timed(ines, /stage-changes$/, () => press(ines, button(ines, "Begin the examination"))));
    await press(ines, button(ines, "New finding"));
    await choose(ines, ines.getByLabel("Kind", { exact: true }), "Crack");
    await fill(ines, ines.getByLabel("Size, mm"), "14");
    await tabTo(ines, ines.getByRole("radio", { name: "Not tested" }));
    await ines.keyboard.press("ArrowUp");
    await ines.keyboard.press("ArrowUp");
    await expect(ines.getByRole("radio", { name: "Leaks", exact: true })).toBeChecked();
    await press(ines, button(ines, "Record finding"));
    await expect(ines.getByText("Suggested: repair.")).toBeVisible();
    await timed(ines, /findings\//, () => press(ines, ines.getByRole("radio", { name: "Repair" })));
  });

  await test.step("plans a step and sends the quote", async () => {
    await press(ines, part(ines, "Work"));
    await press(ines, button(ines, "Plan a step"));
    await choose(ines, ines.getByLabel("Method"), "Braze a crack");
    await expect(ines.getByLabel("Price", { exact: true })).toHaveValue(/^62/);
    await expect(ines.getByRole("checkbox", { name: /^1\. Crack/ })).toBeChecked();
    await press(ines, button(ines, "Put it on the plan"));
    await expect(ines.getByText("Braze a crack", { exact: true })).toBeVisible();
    await press(ines, part(ines, "Quote"));
    await press(ines, button(ines, "Begin a quote from the planned steps"));
    await fill(ines, ines.getByLabel("Allow up to"), "120");
    await fill(ines, ines.getByLabel("Message to the owner"), "The crack leaks. Brazed, it holds for good.");
    await expect(ines.getByText("Draft · Saved.")).toBeVisible();
    await watch.shows(number, "approval", await timed(ines, /send$/, () => press(ines, button(ines, /^Send to Joana Faro/))));
  });

  await test.step("the owner accepts by the link of the letter, without script", async () => {
    const page = await owner(browser, linkIn(await letter(shop.server.data, "the quote", (one) => one.to === OWNER.email && one.text.includes("/answer/")), "answer"));
    await watch.shows(number, "bench", await timed(page, /\/answer\//, () => press(page, page.getByRole("button", { name: /^Yes, go ahead/ }))));
    await expect(page.getByRole("heading", { level: 1 })).toBeVisible();
    await expect(page.getByText(OWNER.name).first()).toBeVisible();
    await page.context().close();
  });

  await test.step("the technician works, and finds another crack", async () => {
    await press(ines, part(ines, "Work"));
    await press(ines, button(ines, "Start"));
    await expect(ines.getByRole("timer")).toBeVisible();
    await press(ines, button(ines, "Stop the clock"));
    await expect(ines.getByRole("timer")).toBeHidden();
    await press(ines, button(ines, "Extra work…"));
    const extra = ines.getByRole("region", { name: "Extra work", exact: true });
    const goOn = extra.getByRole("button", { name: "Go on" });
    await choose(ines, extra.getByLabel("Kind", { exact: true }), "Crack");
    await fill(ines, extra.getByLabel("Size, mm"), "9");
    await press(ines, goOn);
    await choose(ines, extra.getByLabel("Method"), "Patch a crack");
    await press(ines, goOn);
    await expect(button(ines, /^Send to Joana Faro/)).toBeVisible();
    await watch.shows(number, "approval", await timed(ines, /send$/, () => press(ines, button(ines, /^Send to Joana Faro/))));
  });

  await test.step("the owner answers for the extra work", async () => {
    const fits = (text: string) => text.includes("/answer/") && text.includes("Patch a crack");
    const page = await owner(browser, linkIn(await letter(shop.server.data, "the extra work", (one) => one.to === OWNER.email && fits(one.text)), "answer"));
    await watch.shows(number, "bench", await timed(page, /\/answer\//, () => press(page, page.getByRole("button", { name: /^Yes, go ahead/ }))));
    await page.context().close();
  });

  await test.step("the bench work is done", async () => {
    await leave(ines);
    await press(ines, part(ines, "Work"));
    for (const title of ["Braze a crack", "Patch a crack"]) {
      const line = ines.getByRole("listitem").filter({ hasText: title });
      await press(ines, line.getByRole("button", { name: /^(Start|Go on)$/ }));
      await press(ines, line.getByRole("button", { name: "Done", exact: true }));
      await expect(line.getByText("done", { exact: true })).toBeVisible();
    }
    await watch.shows(number, "leak_test", await timed(ines, /stage-changes$/, () => press(ines, button(ines, /^Bench work done/))));
  });

  await test.step("the leak test fails, goes back, and passes", async () => {
    await press(ines, part(ines, "Tests"));
    await press(ines, button(ines, "Fail: say where"));
    await tabTo(ines, ines.getByRole("radio", { name: /^1\. Crack/ }));
    await ines.keyboard.press("Space");
    await fill(ines, ines.getByRole("textbox", { name: "More exactly, in words" }), "Still hisses at its lower end");
    await watch.shows(number, "bench", await timed(ines, /tests$/, () => press(ines, button(ines, /^Record: fail/))));
    await press(ines, part(ines, "Work"));
    const again = ines.getByRole("listitem").filter({ hasText: "Braze a crack" });
    await expect(again.getByText("rework 1")).toBeVisible();
    await press(ines, again.getByRole("button", { name: "Go on" }));
    await press(ines, again.getByRole("button", { name: "Done", exact: true }));
    await watch.shows(number, "leak_test", await timed(ines, /stage-changes$/, () => press(ines, button(ines, /^Bench work done/))));
    await press(ines, part(ines, "Tests"));
    const needed = ines.getByRole("listitem").filter({ hasText: "not yet" });
    await expect(needed.first()).toBeVisible();
    while ((await needed.count()) > 1) {
      const kind = (await needed.first().textContent())?.split(":")[0] ?? "";
      await tabTo(ines, ines.getByRole("radio", { name: kind }));
      await ines.keyboard.press("Space");
      const left = await needed.count();
      await press(ines, button(ines, "Pass"));
      await expect(needed).toHaveCount(left - 1);
    }
    const last = (await needed.first().textContent())?.split(":")[0] ?? "";
    await tabTo(ines, ines.getByRole("radio", { name: last }));
    await ines.keyboard.press("Space");
    await watch.shows(number, "pickup", await timed(ines, /tests$/, () => press(ines, button(ines, "Pass"))));
    await letter(shop.server.data, "ready to collect", (one) => one.to === OWNER.email && /ready/i.test(one.subject));
  });

  await test.step("the front desk hands it over", async () => {
    await leave(rui);
    await open(rui, number);
    await press(rui, rui.getByRole("main").getByRole("link", { name: "Hand over" }));
    await expect(rui.getByLabel("Amount paid now")).not.toHaveValue("");
    await tabTo(rui, rui.getByRole("checkbox", { name: "case" }));
    await rui.keyboard.press("Space");
    await fill(rui, rui.getByLabel("Who collects it"), OWNER.name);
    await watch.shows(number, "gone", await timed(rui, /handover$/, () => press(rui, button(rui, "Hand over and close"))));
    await expect(rui.getByText(`${number} is closed.`)).toBeVisible();
  });

  test.info().annotations.push({ type: "ms from an answer to the other board", description: watch.took.join(", ") });
  await watch.end();
});
