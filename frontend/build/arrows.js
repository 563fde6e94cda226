/**
 * Which room of src/ may import which, and an ESLint rule that says so at the import.
 * app and features → sync → store → core; features → ui; core and ui import nothing of ours.
 */
import { dirname, relative, resolve, sep } from "node:path";
import { fileURLToPath } from "node:url";

const SRC = fileURLToPath(new URL("../src", import.meta.url));

export const MAY_IMPORT = {
  core: [],
  ui: [],
  store: ["core"],
  sync: ["store", "core"],
  features: ["app", "ui", "sync", "store", "core"],
  app: ["features", "ui", "sync", "store", "core"],
  worker: [],
};
/** Of app, features see what every screen shares, never the modules that put screens together. */
const COMPOSES = /^app\/(?:routes|App|main)\b/;

/** @returns {string | null} why `to` may not be imported from `from` (paths below src), or null */
export function refusal(from, to) {
  const [room, verb] = from.split("/");
  const [other, otherVerb] = to.split("/");
  if (!(room in MAY_IMPORT)) return null; // main.ts and its like join everything
  if (room === other) {
    return room === "features" && verb !== otherVerb
      ? `A feature never imports another (${verb} → ${otherVerb}): move what both need to core or ui.`
      : null;
  }
  if (!MAY_IMPORT[room].includes(other)) {
    return `${room} may import ${MAY_IMPORT[room].join(", ") || "nothing of ours"}, not ${other}.`;
  }
  if (room === "features" && COMPOSES.test(to)) {
    return "Features do not import the modules that put them together.";
  }
  return null;
}

export const arrows = {
  meta: { type: "problem", schema: [] },
  create(context) {
    const from = below(context.filename);
    if (from === null) return {};
    const look = (node) => {
      const named = node.source?.value;
      if (typeof named !== "string" || !named.startsWith(".")) return;
      const to = below(resolve(dirname(context.filename), named));
      const why = to === null ? null : refusal(from, to);
      if (why) context.report({ node, message: why });
    };
    return {
      ImportDeclaration: look,
      ImportExpression: look,
      ExportNamedDeclaration: look,
      ExportAllDeclaration: look,
    };
  },
};

function below(file) {
  const path = relative(SRC, file);
  return path.startsWith("..") ? null : path.split(sep).join("/");
}
