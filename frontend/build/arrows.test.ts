import { expect, test } from "vitest";
// @ts-expect-error -- plain JavaScript, since ESLint loads it without a build
import { refusal as untyped } from "./arrows.js";

const refusal = untyped as (from: string, to: string) => string | null;

test.each([
  ["features/dig/Dig.svelte", "core/stock/fold.ts"],
  ["features/dig/Dig.svelte", "features/dig/state.ts"],
  ["features/dig/Dig.svelte", "app/session.svelte.ts"],
  ["app/routes.ts", "features/dig/Dig.svelte"],
  ["sync/loop.ts", "store/entries.ts"],
  ["core/sync/chain.ts", "core/stock/kinds.ts"],
  ["main.ts", "app/App.svelte"],
])("%s may import %s", (from, to) => {
  expect(refusal(from, to)).toBeNull();
});

test.each([
  ["features/dig/Dig.svelte", "features/plant/Plant.svelte"],
  ["features/dig/Dig.svelte", "app/routes.ts"],
  ["core/stock/fold.ts", "store/entries.ts"],
  ["core/sync/chain.ts", "sync/loop.ts"],
  ["ui/Button.svelte", "core/stock/kinds.ts"],
  ["store/entries.ts", "sync/loop.ts"],
  ["sync/loop.ts", "ui/Button.svelte"],
])("%s may not import %s", (from, to) => {
  expect(refusal(from, to)).not.toBeNull();
});
