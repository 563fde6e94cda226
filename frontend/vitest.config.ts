import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

export default defineConfig({
  plugins: [svelte()],
  resolve: { conditions: ["browser"] }, // Svelte's client half, for rune modules under test
  test: {
    include: ["src/**/*.test.ts", "build/**/*.test.ts"],
    environment: "node",
    passWithNoTests: false,
    testTimeout: 120_000, // against hanging only: properties are slow on a busy machine
    hookTimeout: 120_000,
  },
});
