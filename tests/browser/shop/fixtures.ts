import { type BrowserContext, type Page, test as base } from "@playwright/test";
import { Desk } from "./desk";
import { toWednesdayAtTen, ZONE } from "./hours";
import { INES, MARTA, RUI, SHOP, TOMAS, type Staff } from "./people";
import { Server } from "./server";

/** A shop that is open for business: the server, and everybody at the interface. */
export class OpenShop {
  private constructor(
    readonly server: Server,
    /** How far its clock is ahead of the machine's, in seconds. */
    readonly moved: number,
    readonly marta: Desk,
  ) {}

  get url(): string {
    return this.server.url;
  }

  /** Opens a shop by the link that a new server prints, as the proprietor's browser would. */
  static async open(moved = toWednesdayAtTen()): Promise<OpenShop> {
    const server = await Server.start(moved);
    try {
      const { name, initials, email, password } = MARTA;
      const answer = await fetch(server.firstLink, {
        method: "POST",
        body: new URLSearchParams({ shop_name: SHOP, time_zone: ZONE, currency: "EUR", name, initials, email, password }),
      });
      if (!answer.ok) throw new Error(`the shop was not opened: ${answer.status} ${await answer.text()}`);
      const marta = await Desk.signIn(server.url, MARTA.email, MARTA.password);
      for (const person of [INES, TOMAS, RUI]) await marta.addPerson(person);
      await marta.amendShop({ phone: "+351 555 010 200", address: "Cais 4, Harbour" });
      return new OpenShop(server, moved, marta);
    } catch (fault) {
      await server.stop();
      throw fault;
    }
  }

  desk(person: Staff): Promise<Desk> {
    return Desk.signIn(this.url, person.email, person.password);
  }
}

/** The browser's day is that of the shop, whose clock is moved. */
export async function moveClock(context: BrowserContext, seconds: number): Promise<void> {
  await context.addInitScript((ms) => {
    const Real = Date;
    window.Date = new Proxy(Real, {
      construct: (_, given: unknown[]) => (given.length === 0 ? new Real(Real.now() + ms) : Reflect.construct(Real, given)),
      get: (of, name) => (name === "now" ? () => Real.now() + ms : Reflect.get(of, name)),
    });
  }, seconds * 1000);
}

/** Signs in by keyboard: the first field has the focus. */
export async function signIn(page: Page, person: Staff): Promise<void> {
  await page.goto("/");
  await page.getByLabel("E-mail").waitFor();
  await page.keyboard.type(person.email);
  await page.keyboard.press("Tab");
  await page.keyboard.type(person.password);
  await page.keyboard.press("Enter");
  await page.locator("main.rails").waitFor();
}

export const test = base.extend<{ context: BrowserContext; baseURL: string }, { shopOf: string; shop: OpenShop }>({
  /** Whose shop it is: files that say the same may share one, and find there what others left. */
  shopOf: ["everybody", { option: true, scope: "worker" }],
  shop: [
    // A file with a shop of its own is run by a worker of its own.
    async ({ shopOf: _ }, use) => {
      const shop = await OpenShop.open();
      await use(shop);
      await shop.server.stop();
    },
    { scope: "worker", timeout: 180_000 },
  ],
  baseURL: async ({ shop }, use) => use(shop.url),
  context: async ({ context, shop }, use) => {
    await moveClock(context, shop.moved);
    await use(context);
  },
});

export { expect } from "@playwright/test";
