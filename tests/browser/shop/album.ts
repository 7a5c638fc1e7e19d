import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { Page } from "@playwright/test";
import { settled, SIZES } from "./looked-at";

type Look = {
  size: { width: number; height: number };
  colorScheme?: "light" | "dark";
  forcedColors?: "active";
  media?: "print";
};

/** Every way a screen is looked at. At 200 % a window of 1366 px has room for half as many CSS px. */
const LOOKS: Record<string, Look> = {
  "counter": { size: SIZES.counter },
  "counter-dark": { size: SIZES.counter, colorScheme: "dark" },
  "tablet": { size: SIZES.tablet },
  "tablet-dark": { size: SIZES.tablet, colorScheme: "dark" },
  "phone": { size: SIZES.phone },
  "phone-dark": { size: SIZES.phone, colorScheme: "dark" },
  "narrow": { size: { width: 320, height: 640 } },
  "twice": { size: { width: 683, height: 384 } },
  "forced": { size: SIZES.counter, forcedColors: "active" },
  "print": { size: { width: 718, height: 1016 }, media: "print" },
};

/** Pictures of every screen in a folder, with a page that shows them together. */
export class Album {
  readonly #taken = new Map<string, string[]>();
  readonly #only: ReadonlySet<string>;

  /** `only`: names of looks with commas between; empty for all of them. */
  constructor(readonly folder: string, only = "") {
    this.#only = new Set(only === "" ? Object.keys(LOOKS) : only.split(","));
  }

  /** Takes the page as it stands in every look; a whole page where it is longer than the window. */
  async take(page: Page, name: string): Promise<void> {
    await mkdir(this.folder, { recursive: true });
    const file = name.replaceAll(/[^a-z0-9]+/gi, "-").replaceAll(/^-|-$/g, "").toLowerCase();
    const taken: string[] = [];
    for (const [look, { size, colorScheme = "light", forcedColors, media }] of Object.entries(LOOKS)) {
      if (!this.#only.has(look)) continue;
      await page.setViewportSize(size);
      await page.emulateMedia({ colorScheme, forcedColors: forcedColors ?? "none", media: media ?? "screen" });
      await settled(page);
      // What sticks to the window's foot would stand in the middle of a longer picture.
      const height = await page.evaluate(() => document.documentElement.scrollHeight);
      if (height > size.height) await page.setViewportSize({ width: size.width, height });
      await settled(page);
      const path = `${file}.${look}.png`;
      await page.screenshot({ path: join(this.folder, path), fullPage: true, animations: "disabled" });
      taken.push(path);
    }
    await page.emulateMedia({ colorScheme: "light", forcedColors: "none", media: "screen" });
    await page.setViewportSize(SIZES.counter);
    this.#taken.set(name, taken);
  }

  /** Writes the page with all pictures. */
  async bind(): Promise<void> {
    const sheets = [...this.#taken].map(([name, files]) => `<h2>${name}</h2>\n${files.map((file) => `<figure><a href="${file}"><img src="${file}" alt="" loading="lazy"></a><figcaption>${file.split(".")[1] ?? ""}</figcaption></figure>`).join("\n")}`);
    const style = "body{font:14px sans-serif;margin:16px;background:#888}figure{display:inline-block;margin:4px;vertical-align:top}img{max-height:340px;max-width:420px}";
    await mkdir(this.folder, { recursive: true });
    await writeFile(join(this.folder, "index.html"), `<!doctype html><meta charset="utf-8"><title>Every screen</title><style>${style}</style>\n${sheets.join("\n")}\n`);
  }
}
