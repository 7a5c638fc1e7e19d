import { moveClock, signIn, test } from "./shop/fixtures";
import { Album } from "./shop/album";
import { SIZES } from "./shop/looked-at";
import { PAGES } from "./shop/pages";
import { INES } from "./shop/people";
import { Seat, SCREENS } from "./shop/screens";

/** Where the pictures go, and which looks are wanted; all when it is not said. */
const album = new Album(process.env["PICTURES"] ?? "test-results/pictures", process.env["LOOKS"]);
const { describe } = test;

describe.configure({ mode: "default" });

let seat: Seat;

test.beforeAll(async ({ browser, shop }) => {
  const context = await browser.newContext({ baseURL: shop.url, viewport: SIZES.counter });
  await moveClock(context, shop.moved);
  const page = await context.newPage();
  await signIn(page, INES);
  seat = await Seat.take(page, shop);
});
test.afterAll(async () => {
  await album.bind();
  await seat.close();
});

describe("screens", () => {
  test.afterEach(() => seat.leave());
  for (const [name, open] of Object.entries(SCREENS)) {
    test(name, async () => {
      await album.take((await open(seat)) ?? seat.page, name);
    });
  }
});

describe("customers", () => {
  for (const [name, { link }] of Object.entries(PAGES)) {
    test(name, async ({ browser }) => {
      const context = await browser.newContext();
      const page = await context.newPage();
      await page.goto(link(seat.scenes));
      await album.take(page, `customer, ${name}`);
      await context.close();
    });
  }
});
