import { moveClock, signIn, test } from "./shop/fixtures";
import { expectInOrder, SIZES } from "./shop/looked-at";
import { INES } from "./shop/people";
import { Seat, SCREENS } from "./shop/screens";

test.describe.configure({ mode: "default", timeout: 120_000 });

let seat: Seat;

test.beforeAll(async ({ browser, shop }) => {
  test.setTimeout(180_000);
  const context = await browser.newContext({ baseURL: shop.url, viewport: SIZES.counter });
  await moveClock(context, shop.moved);
  const page = await context.newPage();
  await signIn(page, INES);
  seat = await Seat.take(page, shop);
});
test.afterEach(() => seat.leave());
test.afterAll(() => seat.close());

for (const [name, open] of Object.entries(SCREENS)) {
  test(`${name}: in order in every size, light and dark`, async () => {
    await expectInOrder((await open(seat)) ?? seat.page);
  });
}
