import svelte from "eslint-plugin-svelte";
import globals from "globals";
import ts from "typescript-eslint";
import { arrows } from "./build/arrows.js";
import svelteConfig from "./svelte.config.js";

const named = (names, message) => names.map((name) => ({ name, message }));
const NETWORK = named(
  ["fetch", "XMLHttpRequest", "WebSocket", "EventSource"],
  "Only src/sync names the network: screens use the session.",
);
const DATABASE = named(
  ["indexedDB", "IDBKeyRange", "IDBDatabase", "IDBTransaction"],
  "Only src/store names IndexedDB.",
);
const PAGE = named(
  ["window", "document", "navigator", "localStorage", "sessionStorage", "location"],
  "core knows no page: pass the value in.",
);
const IMPURE = [
  { object: "Date", property: "now", message: "core knows no clock: pass the time in." },
  { object: "Math", property: "random", message: "core knows no chance: pass the value in." },
  { object: "crypto", property: "randomUUID", message: "core knows no chance: pass the id in." },
];
const only = (name, room) => ({ name, message: `Only src/${room} names ${name}.` });

export default ts.config(
  { ignores: ["node_modules/", "build-tools/", "src/sync/api-types.d.ts"] },
  ...ts.configs.recommendedTypeChecked,
  ...svelte.configs["flat/recommended"],
  {
    languageOptions: {
      globals: { ...globals.browser },
      parserOptions: {
        projectService: { allowDefaultProject: ["*.js", "build/*.js"] },
        tsconfigRootDir: import.meta.dirname,
        extraFileExtensions: [".svelte"],
      },
    },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    plugins: { ours: { rules: { arrows } } },
    rules: {
      "ours/arrows": "error",
      "no-eval": "error",
      "no-implied-eval": "error",
      eqeqeq: ["error", "always", { null: "ignore" }],
      "@typescript-eslint/no-floating-promises": "error",
      "@typescript-eslint/no-misused-promises": "error",
      "@typescript-eslint/switch-exhaustiveness-check": [
        "error",
        { considerDefaultExhaustiveForUnions: true },
      ],
      "@typescript-eslint/no-unused-vars": [
        "error",
        { argsIgnorePattern: "^_", varsIgnorePattern: "^_" },
      ],
      // Numbers in sentences are the app's daily bread.
      "@typescript-eslint/restrict-template-expressions": ["error", { allowNumber: true }],
      "svelte/require-each-key": "error",
      "svelte/no-at-html-tags": "error",
      // style:name={…} and style={…} are set by script, which the content policy allows.
      "no-restricted-syntax": [
        "error",
        {
          selector: "SvelteAttribute[key.name='style'][value.length=1] > SvelteLiteral",
          message: "The content policy refuses a literal style attribute: use a class.",
        },
      ],
      // The app has a router of its own.
      "svelte/no-navigation-without-resolve": "off",
    },
  },
  {
    files: ["**/*.svelte", "**/*.svelte.ts"],
    languageOptions: { parserOptions: { parser: ts.parser, svelteConfig } },
    rules: {
      // In templates ESLint sees loops and snippets as `any`; svelte-check knows their types.
      "@typescript-eslint/no-unsafe-argument": "off",
      "@typescript-eslint/no-unsafe-assignment": "off",
      "@typescript-eslint/no-unsafe-call": "off",
      "@typescript-eslint/no-unsafe-member-access": "off",
      "@typescript-eslint/no-unsafe-return": "off",
    },
  },
  {
    files: ["src/core/**"],
    ignores: ["**/*.test.ts"],
    rules: {
      "no-restricted-globals": ["error", ...NETWORK, ...DATABASE, ...PAGE],
      "no-restricted-properties": ["error", ...IMPURE],
      "no-restricted-imports": ["error", { paths: [only("dexie", "store"), only("svelte", "app")] }],
    },
  },
  {
    files: ["src/ui/**", "src/app/**", "src/features/**"],
    ignores: ["**/*.test.ts"],
    rules: {
      "no-restricted-globals": ["error", ...NETWORK, ...DATABASE],
      "no-restricted-imports": [
        "error",
        { paths: [only("dexie", "store"), only("openapi-fetch", "sync")] },
      ],
    },
  },
  {
    files: ["src/sync/**"],
    ignores: ["**/*.test.ts"],
    rules: {
      "no-restricted-globals": ["error", ...DATABASE],
      "no-restricted-imports": ["error", { paths: [only("dexie", "store")] }],
    },
  },
  {
    files: ["src/store/**"],
    ignores: ["**/*.test.ts"],
    rules: {
      "no-restricted-globals": ["error", ...NETWORK],
      "no-restricted-imports": ["error", { paths: [only("openapi-fetch", "sync")] }],
    },
  },
  {
    files: ["**/*.js"],
    ...ts.configs.disableTypeChecked,
    languageOptions: { globals: { ...globals.node } },
  },
  {
    files: ["**/*.test.ts"],
    rules: {
      "@typescript-eslint/no-unsafe-assignment": "off",
      "@typescript-eslint/no-non-null-assertion": "off",
    },
  },
);
