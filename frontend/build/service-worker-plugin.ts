import { createHash } from "node:crypto";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, relative, sep } from "node:path";
import { transformWithOxc, type Plugin } from "vite";

/** Never asked for by the app: every browser with a service worker takes woff2, not woff. */
const LEFT_OUT = new Set(["sw.js", "robots.txt"]);
const LEFT_OUT_KINDS = /\.(?:br|gz|map|woff)$/;

/**
 * Writes sw.js: the worker's source without its types, with the list of every built file and the
 * SHA-256 of its contents put in. The same contents give the same bytes.
 */
export function serviceWorker(source: string): Plugin {
  let outDir = "";
  return {
    name: "service-worker",
    apply: "build",
    configResolved(config) {
      outDir = join(config.root, config.build.outDir);
    },
    writeBundle: {
      order: "post",
      async handler() {
        const files = listed(outDir);
        const version = sha256(Buffer.from(JSON.stringify(files))).slice(0, 16);
        const { code } = await transformWithOxc(readFileSync(source, "utf8"), source);
        const worker = code
          .replace(/^export\s*\{\s*\};?\s*$/m, "") // a classic script has no exports
          .replace("__VERSION__", version)
          .replace('"__FILES__"', JSON.stringify(files));
        if (/__VERSION__|__FILES__|^\s*(import|export)\s/m.test(worker)) {
          this.error("the service worker's source must be one script with both placeholders");
        }
        writeFileSync(join(outDir, "sw.js"), worker);
      },
    },
  };
}

/** Address of each file to the hash of its contents, in the order of the addresses. */
function listed(outDir: string): Record<string, string> {
  const names = readdirSync(outDir, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(outDir, join(entry.parentPath, entry.name)).split(sep).join("/"))
    .filter((name) => !LEFT_OUT.has(name) && !LEFT_OUT_KINDS.test(name))
    .sort();
  // The server answers "/" with index.html and sends "/index.html" there by a redirect, which
  // a worker may not use to answer a navigation.
  return Object.fromEntries(
    names.map((name) => [
      name === "index.html" ? "/" : `/${name}`,
      sha256(readFileSync(join(outDir, name))),
    ]),
  );
}

function sha256(bytes: Buffer): string {
  return createHash("sha256").update(bytes).digest("hex");
}
