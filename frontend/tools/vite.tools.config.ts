/** Bundles the command-line tools for Node, each into one file of a folder that is not kept. */
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** `--mode NAME` chooses the tool. */
export default defineConfig(({ mode }) => ({
  root: here("."),
  publicDir: false,
  build: {
    ssr: here(`./${mode}.ts`),
    outDir: here("../build-tools"),
    emptyOutDir: false, // the other tools may be running
    target: "node20",
    minify: false,
    rollupOptions: { output: { entryFileNames: `${mode}.js` } },
  },
  ssr: { noExternal: true },
}));
