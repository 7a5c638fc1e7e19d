import type { Page } from "@playwright/test";
import { expect, moveClock, signIn, test, type OpenShop } from "./shop/fixtures";
import { workingDay } from "./shop/hours";
import { RUI, TOMAS } from "./shop/people";

/** A trumpet under examination, its findings on the screen. */
async function trumpet(page: Page, shop: OpenShop, serial_number: string): Promise<void> {
  const tomas = await shop.desk(TOMAS);
  const order = await (await shop.desk(RUI)).checkIn({
    customer: { name: "Nuno Ferraz", email: "nuno@ferraz.example" },
    instrument: { family: "trumpet", maker: "Tamsel", serial_number },
    complaint: "The bell brace is loose",
    promised_on: workingDay(shop.moved, 20),
    accessories: [],
  });
  await tomas.claim(order.id);
  await tomas.move(order.id, "diagnosis", "examination_begins");
  await moveClock(page.context(), shop.moved);
  await signIn(page, TOMAS);
  await page.goto(`/work-orders/${order.claim_number}/findings`);
  await page.locator(".map .hit").first().waitFor();
}

test("every joint of a trumpet is pointed at by a tap on its middle, or by its name", async ({ page, shop }) => {
  await trumpet(page, shop, "T 1");
  const joints = await page.evaluate(() => {
    const names = new Map([...document.querySelectorAll(".map g[data-joint]")].map((group) => [group.getAttribute("data-joint"), group.querySelector("title")?.textContent ?? ""]));
    return [...document.querySelectorAll(".map .hit")].map((hit) => {
      const { x, y, width, height } = hit.getBoundingClientRect();
      return { name: names.get(hit.getAttribute("data-joint")) ?? "", x: x + width / 2 + scrollX, y: y + height / 2 + scrollY, across: width };
    });
  });
  expect(joints.length).toBeGreaterThan(25);
  const map = page.locator(".map");
  const origin = await map.boundingBox();
  for (const { name, x, y } of joints) {
    await map.click({ position: { x: x - (origin?.x ?? 0), y: y - (origin?.y ?? 0) } });
    await expect(page.getByRole("form", { name, exact: true }).getByLabel("Held by")).toBeVisible();
  }
  await page.getByLabel("By name…").selectOption({ label: "bell brace, second foot" });
  await expect(page.getByRole("form", { name: "bell brace, second foot" })).toBeVisible();
});

test("a finding is pinned to a side by a tap and told from the nearest brace", async ({ page, shop }) => {
  await trumpet(page, shop, "T 2");
  await page.getByRole("button", { name: /^New finding/ }).first().click();
  await page.getByLabel("Kind", { exact: true }).selectOption({ label: "Dent" });
  const pipe = await page.locator('.map g[data-part="leadpipe"] .tube').boundingBox();
  if (pipe === null) throw new Error("no leadpipe");
  // Near its upper wall, away from the braces.
  await page.mouse.click(pipe.x + 0.42 * pipe.width, pipe.y + 0.1 * pipe.height);
  await expect(page.getByLabel("Part", { exact: true })).toHaveValue("leadpipe");
  await expect(page.getByRole("button", { name: "Top", exact: true })).toHaveAttribute("aria-pressed", "true");
  await page.getByRole("button", { name: "Bottom", exact: true }).click();
  await page.getByRole("button", { name: "Record finding" }).click();
  await expect(page.locator(".flist")).toContainText("leadpipe, bottom");
  await expect(page.locator(".flist")).toContainText(/\d+ mm from the (rear brace|bell brace|second valve casing|first valve casing)/);
});

test("a measure far from typical is asked about, a part is added with its joint, struck, and brought back", async ({ page, shop }) => {
  await trumpet(page, shop, "T 3");
  await page.getByLabel("By name…").selectOption({ label: "leadpipe" });
  const panel = page.getByRole("form", { name: "leadpipe", exact: true });
  await panel.getByLabel(/^Ø at 0 mm/).fill("5000");
  await panel.getByRole("button", { name: "Keep what was measured" }).click();
  await expect(panel.getByText("Give 1 to 600 mm.")).toBeVisible();
  await panel.getByLabel(/^Ø at 0 mm/).fill("19");
  await panel.getByRole("button", { name: "Keep what was measured" }).click();
  await expect(panel.getByRole("alert")).toContainText("19? Typical is 10.2.");
  await panel.getByRole("button", { name: "Yes, as measured" }).click();
  await expect(page.locator('.map tspan[text-decoration="underline"]')).toHaveText(["19"]);

  await page.getByRole("button", { name: "Add to the map…" }).click();
  const editing = page.getByRole("region", { name: "Parts and joints of this instrument" });
  await editing.getByLabel("Name", { exact: true }).fill("old patch");
  await editing.getByLabel("Length, mm").fill("20");
  await editing.getByLabel("Outside Ø, mm").fill("14");
  await editing.getByLabel("On or at which part").selectOption({ label: "bell bow" });
  await editing.getByRole("button", { name: "Add a part", exact: true }).last().click();
  await expect(editing.getByText("old patch is on the map.")).toBeVisible();
  await expect(page.locator('.map g[data-joint="old-patch-to-bell-bow"]')).toHaveCount(1);

  await page.getByLabel("By name…").selectOption({ label: "third valve slide" });
  const slide = page.getByRole("form", { name: "third valve slide", exact: true });
  await slide.getByRole("button", { name: "This instrument does not have it…" }).click();
  await slide.getByRole("button", { name: "Never had it" }).click();
  await expect(page.locator('.map g[data-part="third-valve-slide"]')).toHaveCount(0);
  await editing.getByRole("button", { name: "Bring back" }).click();
  await expect(page.locator('.map g[data-part="third-valve-slide"]')).toHaveCount(1);
  await expect(editing.getByText("Nothing is struck.")).toBeVisible();
});

test("what was saved of a part or a joint stays when something else is saved next", async ({ page, shop }) => {
  await trumpet(page, shop, "T 4");
  const chosen = (name: string) => page.getByRole("form", { name, exact: true });
  const saved = () => page.waitForResponse((answer) => answer.url().endsWith("/map") && answer.request().method() === "GET");
  const keep = async (name: string, button: string) => {
    const again = saved();
    await chosen(name).getByRole("button", { name: button }).click();
    await again;
    // The fields are made anew with what came.
    await expect(chosen(name).getByRole("button", { name: button })).toBeEnabled();
  };
  await page.getByLabel("By name…").selectOption({ label: "leadpipe" });
  await chosen("leadpipe").getByLabel("Material").selectOption("brass_c230");
  await keep("leadpipe", "Keep what was measured");
  await chosen("leadpipe").getByLabel(/^Ø at 0 mm/).fill("10.4");
  await keep("leadpipe", "Keep what was measured");
  // The list shows what is stored, and what was typed went its way.
  await expect(chosen("leadpipe").getByLabel("Material")).toHaveValue("brass_c230");
  await expect(chosen("leadpipe").getByLabel(/^Ø at 0 mm/)).toHaveValue("");

  const foot = "bell brace, second foot";
  await page.getByLabel("By name…").selectOption({ label: foot });
  const filler = chosen(foot).getByLabel("Solder or filler");
  const solder = await filler.locator("option").nth(2).getAttribute("value") ?? "";
  expect(solder).not.toBe("");
  await filler.selectOption(solder);
  await keep(foot, "Save");
  await chosen(foot).getByLabel("Begins to melt at, °C").fill("221");
  await keep(foot, "Save");
  await expect(filler).toHaveValue(solder);

  await page.reload();
  await page.getByLabel("By name…").selectOption({ label: "leadpipe" });
  await expect(chosen("leadpipe").getByLabel("Material")).toHaveValue("brass_c230");
  await page.getByLabel("By name…").selectOption({ label: foot });
  await expect(filler).toHaveValue(solder);
  await expect(chosen(foot).getByLabel("Begins to melt at, °C")).toHaveValue("221");
});

test("what is wrong with a new part stands at its field, and the next part begins as the first did", async ({ page, shop }) => {
  await trumpet(page, shop, "T 5");
  await page.getByRole("button", { name: "Add to the map…" }).click();
  const editing = page.getByRole("region", { name: "Parts and joints of this instrument" });
  const add = editing.getByRole("button", { name: "Add a part", exact: true }).last();
  const field = (name: string) => editing.getByLabel(name, { exact: true });
  await field("Name").fill("old patch");
  await field("Length, mm").fill("4000");
  await add.click();
  await expect(field("Length, mm")).toHaveAccessibleDescription("Give 1 to 3000 mm.");
  await expect(field("Length, mm")).toBeFocused();
  await expect(field("Outside Ø, mm")).toHaveAccessibleDescription(/millimetres/);
  await expect(field("Name")).not.toHaveAttribute("aria-invalid");
  // What only the server knows: the wall is thicker than the part, and it lies beyond what carries it.
  await field("Length, mm").fill("20");
  await field("Outside Ø, mm").fill("14");
  await field("Wall, mm (empty: solid)").fill("12");
  await field("On or at which part").selectOption({ label: "bell bow" });
  await field("At, mm along it (empty: its middle)").fill("2900");
  await add.click();
  await expect(field("Wall, mm (empty: solid)")).toHaveAttribute("aria-invalid", "true");
  await expect(field("At, mm along it (empty: its middle)")).toHaveAccessibleDescription("lies outside the part");
  await field("Wall, mm (empty: solid)").fill("0.6");
  await field("At, mm along it (empty: its middle)").fill("");
  await field("What it is").selectOption("tube");
  await add.click();
  await expect(editing.getByText("old patch is on the map.")).toBeVisible();
  await expect(field("Name")).toHaveValue("");
  await expect(field("What it is")).toHaveValue("fitting");
  await expect(field("Material")).toHaveValue("brass_c260");
  await expect(add).toBeFocused();
});
