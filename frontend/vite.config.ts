import { svelte } from "@sveltejs/vite-plugin-svelte";
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";
import { foldFormat } from "./build/fold-format.ts";
import { serviceWorker } from "./build/service-worker-plugin.ts";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here("."),
  define: {
    __FOLD_FORMAT__: JSON.stringify(foldFormat(["./src/core", "./src/sync/ledger-view.ts", "../tubertrack/core/stock"].map(here))),
  },
  plugins: [svelte(), serviceWorker(here("./src/worker/service-worker.ts"))],
  build: {
    outDir: "../tubertrack/spa",
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0, // a data: address for the decoder would break the content policy
    modulePreload: { polyfill: false },
    reportCompressedSize: false,
  },
  server: {
    fs: { allow: [here(".."),] }, // the record kinds are defined once, in tubertrack/core
    proxy: Object.fromEntries(
      ["api", "sync", "blob", "admin", "static", "start"].map((part) => [
        `/${part}`,
        "http://127.0.0.1:8000",
      ]),
    ),
  },
});
