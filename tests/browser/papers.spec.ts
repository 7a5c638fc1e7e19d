import type { BrowserContext, Page } from "@playwright/test";
import type { NewWorkOrder } from "../../web-client/src/api/shapes";
import { expect, moveClock, signIn, test } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { press } from "./shop/keyboard";
import { RUI } from "./shop/people";

const POINTS_PER_MM = 72 / 25.4;

/** Pages of a PDF that Chromium wrote, each with its size in mm. */
function pagesOf(pdf: Buffer): { width: number; height: number }[] {
  return [...pdf.toString("latin1").matchAll(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/g)].map(([, width, height]) => ({ width: Number(width) / POINTS_PER_MM, height: Number(height) / POINTS_PER_MM }));
}

/** Half a millimetre: a printer's page is whole dots. */
const NEAR_MM = 0.5;

/** Notes what each dialog would print. The frame of a paper runs no script, so it is met where the page takes hold of it. */
async function watchPrinter(context: BrowserContext): Promise<void> {
  await context.addInitScript(() => {
    const printed: string[] = [];
    Object.assign(window, { printed });
    const of = Object.getOwnPropertyDescriptor(HTMLIFrameElement.prototype, "contentWindow");
    Object.defineProperty(HTMLIFrameElement.prototype, "contentWindow", {
      configurable: true,
      get(this: HTMLIFrameElement) {
        const inside = of?.get?.call(this) as Window | null;
        if (inside !== null) inside.print = () => void printed.push(inside.document.body.textContent ?? "");
        return inside;
      },
    });
  });
}

/** What was printed on this page since it was opened, oldest first. */
function printedOn(page: Page): Promise<string[]> {
  return page.evaluate(() => (window as unknown as { printed: string[] }).printed);
}

const EVERYTHING: Omit<NewWorkOrder, "promised_on"> = {
  customer: { name: "Wilhelmina-Katharina von Oppeln-Bronikowski", phone: "020 7946 0999", email: "wilhelmina@oppeln.example" },
  instrument: { family: "saxophone", maker: "Tamsel & Grandchildren of Northwick", model: "Contrabass Professional 88", serial_number: "AB-1234567890", owners_number: "Band room cupboard 12", age_text: "about 1925 to 1930", finish: "silver plate over lacquer" },
  complaint: "The low notes stopped speaking on tour, then somebody sat on the case. ".repeat(6).trim(),
  condition_note: "Red rot at the neck, an old solder blob near the octave key, felt missing.",
  keep_as_is: "The engraving on the bell, the patina on the body and the old repair at the bow: the family wants it left exactly so.",
  accessories: ["case", "mouthpiece", "strap", "lyre", "oil", "cleaning cloth", "two reeds in a tin", "music stand with a broken leg"],
  counter_marks: [{ part: "bell", kind: "dent" }, { part: "bell", kind: "scratch" }, { part: "bell", kind: "lacquer_gone" }, { part: "neck", kind: "dent" }],
};

test("label and tag come out on one paper of their own size, whatever was said; nothing stands over the edge", async ({ page, context, shop }) => {
  const rui = await shop.desk(RUI);
  const promised_on = workingDay(shop.moved, 6);
  const little = await rui.checkIn({ customer: { name: "Ada Pell", email: "ada@pell.example" }, instrument: { family: "flute" }, complaint: "Squeaks", promised_on });
  const much = await rui.checkIn({ ...EVERYTHING, promised_on });
  await moveClock(context, shop.moved);
  await watchPrinter(context);
  await signIn(page, RUI);
  const paper = await context.newPage();
  for (const order of [little, much]) {
    await page.goto(`/work-orders/${order.claim_number}`);
    const papers = page.getByRole("group", { name: "Print" });
    for (const [name, width, height] of [["Label", 62, 100], ["Tag", 105, 148]] as const) {
      const answered = page.waitForResponse((answer) => answer.url().endsWith("/tag") && answer.request().method() === "POST");
      await press(page, papers.getByRole("button", { name, exact: true }));
      const { html } = (await (await answered).json()) as { html: string };
      // What is printed lies in a frame of its own, and it is printed.
      await expect(page.frameLocator("iframe.paper-frame").getByText(order.claim_number).first()).toBeAttached();
      await expect.poll(() => printedOn(page)).toHaveLength(name === "Label" ? 1 : 2);
      expect((await printedOn(page)).at(-1)).toContain(order.claim_number);
      await paper.goto("/robots.txt");
      await paper.setContent(html, { waitUntil: "load" });
      await paper.emulateMedia({ media: "print" });
      const pages = pagesOf(await paper.pdf({ preferCSSPageSize: true }));
      expect(pages).toHaveLength(1);
      expect(Math.abs((pages[0]?.width ?? 0) - width)).toBeLessThan(NEAR_MM);
      expect(Math.abs((pages[0]?.height ?? 0) - height)).toBeLessThan(NEAR_MM);
      const over = await paper.evaluate(() => {
        const edge = document.querySelector("main")?.getBoundingClientRect();
        const box = (one: Element) => one.getBoundingClientRect();
        return edge === undefined ? ["no page"] : [...document.querySelectorAll("p, b, table, td, small, .due, .box")]
          .filter((one) => box(one).right > edge.right + 0.5 || box(one).bottom > (one.closest(".body")?.getBoundingClientRect().bottom ?? edge.bottom) + 0.5 || one.scrollWidth > Math.ceil(box(one).width) + 1)
          .filter((one) => getComputedStyle(one).display !== "inline")
          .map((one) => `${one.tagName}: ${one.textContent}`);
      });
      expect(over, `${name} of ${order.claim_number}`).toEqual([]);
      const shades = await paper.evaluate(() => [...document.querySelectorAll("*")].flatMap((one) => [getComputedStyle(one).color, getComputedStyle(one).borderTopColor]));
      expect(new Set(shades)).toEqual(new Set(["rgb(0, 0, 0)"]));
    }
  }
  await paper.close();
});

test("the check-in prints the tag, and a paper that cannot be made is said in place while the check-in stands", async ({ page, context, shop }) => {
  const rui = await shop.desk(RUI);
  const promised_on = workingDay(shop.moved, 4);
  await rui.checkIn({ customer: { name: "Livia Brandt", phone: "0555 777" }, instrument: { family: "horn" }, complaint: "Stuck", promised_on });
  await moveClock(context, shop.moved);
  await watchPrinter(context);
  await signIn(page, RUI);
  const fillIn = async (says: string) => {
    await page.getByRole("combobox").first().fill("Livia");
    await page.getByRole("option", { name: /Livia Brandt/ }).click();
    await page.getByRole("radio", { name: "Another instrument" }).check();
    await page.getByLabel("Family").selectOption("trumpet");
    await page.getByLabel("Complaint in the customer’s words").fill(says);
    await expect(page.getByText(/of 20 jobs like this would be ready|typical/).first()).toBeVisible();
  };
  await page.goto("/check-in");
  await fillIn("The water key leaks");
  const printed = page.waitForRequest((one) => one.url().endsWith("/tag"));
  const receipt = page.waitForRequest((one) => one.url().endsWith("/receipt"));
  await page.keyboard.press("Control+Enter");
  expect((await printed).postDataJSON()).toEqual({ paper: "tag_a6" });
  await receipt;
  const news = page.getByRole("status").filter({ hasText: "is checked in" });
  await expect(news).toContainText("There is no e-mail address: the receipt is on paper.");
  const claim = (await news.locator(".no").textContent())?.split(" ")[0] ?? "";
  expect(claim).not.toBe("");
  await expect.poll(async () => (await printedOn(page)).map((one) => one.includes(claim))).toEqual([true, true]);

  await page.route("**/tag", (route) => route.abort());
  await fillIn("A dent in the bell");
  const made = page.waitForResponse((one) => one.url().endsWith("/work-orders") && one.request().method() === "POST");
  await page.keyboard.press("Control+Enter");
  const second = (await (await made).json()) as { id: string };
  await expect(page.getByText("The paper could not be made. The order stands as it is; press again.")).toBeVisible();
  expect((await rui.order(second.id)).stage).toBe("intake");
  await page.unroute("**/tag");
  const again = page.waitForResponse((one) => one.url().endsWith("/tag"));
  await page.getByRole("group", { name: "Print" }).getByRole("button", { name: "Tag", exact: true }).click();
  expect((await again).status()).toBe(201);
  await expect(page.getByText("The paper could not be made.")).toHaveCount(0);
});

test("papers pressed one after another all come out, and the receipt is on paper only once it was printed", async ({ page, context, shop }) => {
  const rui = await shop.desk(RUI);
  const promised_on = workingDay(shop.moved, 4);
  const order = await rui.checkIn({ customer: { name: "Nuno Alvor", phone: "0555 778" }, instrument: { family: "cornet" }, complaint: "Hisses", promised_on });
  await moveClock(context, shop.moved);
  await watchPrinter(context);
  await signIn(page, RUI);
  await page.goto(`/work-orders/${order.claim_number}`);
  const papers = page.getByRole("group", { name: "Print" });
  await papers.getByRole("button", { name: "Label", exact: true }).waitFor();
  // Both answers come at one moment: the frame of the first must not be taken away before it has come up.
  await page.evaluate(() => {
    for (const button of document.querySelectorAll<HTMLButtonElement>(".papers button")) if (button.textContent !== "Receipt") button.click();
  });
  await expect.poll(async () => (await printedOn(page)).length).toBe(2);
  await expect(papers.locator("[aria-busy=true], [aria-disabled=true], [disabled]")).toHaveCount(0);

  await page.goto("/check-in");
  await page.getByLabel("This machine prints").selectOption({ label: "nothing by itself" });
  await page.getByRole("combobox").first().fill("Nuno");
  await page.getByRole("option", { name: /Nuno Alvor/ }).click();
  await page.getByRole("radio", { name: "Another instrument" }).check();
  await page.getByLabel("Family").selectOption("trumpet");
  await page.getByLabel("Complaint in the customer’s words").fill("A dent");
  await expect(page.getByLabel("Planned for", { exact: true })).not.toHaveValue("");
  await page.keyboard.press("Control+Enter");
  const news = page.getByRole("status").filter({ hasText: "is checked in" });
  await expect(news).toContainText("the receipt is not printed yet");
  expect(await printedOn(page)).toEqual([]);
  await page.getByRole("group", { name: "Print" }).getByRole("button", { name: "Receipt" }).click();
  await expect(news).toContainText("the receipt is on paper");
  await expect.poll(async () => (await printedOn(page)).length).toBe(1);
});
