import { defineConfig } from "@playwright/test";
import tests from "./playwright.config";

/** Takes pictures for people to look at; decides nothing. */
export default defineConfig({
  ...tests,
  testMatch: "pictures.ts",
  workers: 1,
  timeout: 120_000,
  retries: 0,
});
