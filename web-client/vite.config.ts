import { defineConfig } from "vite";

// Where the server listens while somebody works on the client; the built client is served by the
// server itself, from the same origin, so the product needs no such setting.
const server = process.env["BELLBRACE_SERVER"] ?? "http://127.0.0.1:8787";

export default defineConfig({
  build: {
    target: "es2022",
    assetsInlineLimit: 0, // The content policy allows no data: addresses.
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  server: { host: "127.0.0.1", proxy: { "/api": server } },
  preview: { host: "127.0.0.1", proxy: { "/api": server } },
});
