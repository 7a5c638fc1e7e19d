import { defineConfig } from "@playwright/test";

/** Chromium of the system: the tests are about the product, not about three engines. */
export default defineConfig({
  testDir: ".",
  testMatch: "*.spec.ts",
  fullyParallel: false,
  workers: 2,
  timeout: 90_000,
  expect: { timeout: 5_000 },
  reporter: [["list"]],
  use: {
    launchOptions: { executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium" },
    actionTimeout: 5_000,
    navigationTimeout: 10_000,
    locale: "en-GB",
    timezoneId: "Europe/Lisbon",
    viewport: { width: 1366, height: 768 },
    trace: "retain-on-failure",
  },
});
