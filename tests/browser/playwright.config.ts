import { defineConfig } from "@playwright/test";

/** Chromium of the system: the tests are about the product, not about three engines. */
export default defineConfig({
  testDir: ".",
  testMatch: "*.spec.ts",
  fullyParallel: false,
  workers: 2,
  timeout: 180_000,
  // How long anything is waited for on a busy machine; what must be quick is measured where it is asked for.
  expect: { timeout: 20_000 },
  reporter: [["list"]],
  use: {
    launchOptions: { executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium" },
    actionTimeout: 20_000,
    navigationTimeout: 30_000,
    locale: "en-GB",
    timezoneId: "Europe/Lisbon",
    viewport: { width: 1366, height: 768 },
    trace: "retain-on-failure",
  },
});
