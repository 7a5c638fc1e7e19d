import { expect, signIn, test } from "./shop/fixtures";
import { INES } from "./shop/people";
import { setScenes } from "./shop/scenes";

test("extra work wanted at the tests is told the way: the test that fails leads to the bench and to the three steps", async ({ page, shop }) => {
  const { leakTest } = await setScenes(shop);
  const ines = await shop.desk(INES);
  await signIn(page, INES);
  await page.goto(`/work-orders/${leakTest.number}/findings`);
  await page.getByRole("button", { name: "Extra work…" }).click();
  const extra = page.getByRole("region", { name: "Extra work", exact: true });
  await expect(extra).toContainText("Record the test that failed and pin where");
  await extra.getByRole("link", { name: "To the tests" }).click();
  await expect(page).toHaveURL(/\/tests$/);
  await expect(page.getByRole("region", { name: "Tests", exact: true })).toBeVisible();
  const pinned = (await ines.order(leakTest.id)).findings.find((one) => !one.struck_reason);
  await ines.test(leakTest.id, { kind: "leak_test", method: "bubbles", verdict: "failed", where_words: "At the brace", ...(pinned === undefined ? {} : { finding_id: pinned.id }) });
  expect((await ines.order(leakTest.id)).stage).toBe("bench");
  await expect(extra.getByRole("heading", { name: "1. What was found" })).toBeVisible();
  await expect(extra).not.toContainText("Record the test that failed");
});
