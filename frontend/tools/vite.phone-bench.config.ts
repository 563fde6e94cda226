/** Bundles phone-bench.ts for Node, into a folder that is not kept. */
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here("."),
  publicDir: false,
  build: {
    ssr: here("./phone-bench.ts"),
    outDir: here("../build-tools/phone"),
    emptyOutDir: true,
    target: "node20",
    minify: false,
    rollupOptions: { output: { entryFileNames: "phone-bench.js" } },
  },
  ssr: { noExternal: true },
});
