/** Bundles fold-cli.ts for Node, into a folder that is not kept. */
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here("."),
  publicDir: false,
  build: {
    ssr: here("./fold-cli.ts"),
    outDir: here("../build-tools"),
    emptyOutDir: true,
    target: "node20",
    minify: false,
    rollupOptions: { output: { entryFileNames: "fold-cli.js" } },
  },
  ssr: { noExternal: true },
});
