import { readFileSync } from "node:fs";
import { expect, test } from "vitest";

const css = readFileSync(new URL("./tokens.css", import.meta.url), "utf8");

/** Colours of one mode: the first block that names it. */
function tokens(mode: "day" | "cellar"): Record<string, string> {
  const block = css.slice(css.indexOf(`[data-mode="${mode}"] {`));
  const inside = block.slice(0, block.indexOf("}"));
  return Object.fromEntries([...inside.matchAll(/--([\w-]+): (#[0-9a-f]{6});/g)].map((m) => [m[1] ?? "", m[2] ?? ""]));
}

/** Contrast of two colours by the formula of WCAG 2.2, "relative luminance" and "contrast ratio". */
function contrast(a: string, b: string): number {
  const luminance = (hex: string): number => {
    const [r = 0, g = 0, bl = 0] = [1, 3, 5].map((i) => {
      const c = parseInt(hex.slice(i, i + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * bl;
  };
  const [high = 0, low = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (high + 0.05) / (low + 0.05);
}

test("the formula gives the known ratio of black on white, 21", () => {
  expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 5);
});

const GROUNDS = ["ground", "card", "plate"];
for (const mode of ["day", "cellar"] as const) {
  const t = tokens(mode);
  test.each(GROUNDS)(`${mode}: text on %s has 7:1, secondary text 5.5:1`, (ground) => {
    expect(contrast(t["ink"] ?? "", t[ground] ?? "")).toBeGreaterThanOrEqual(7);
    expect(contrast(t["ink-2"] ?? "", t[ground] ?? "")).toBeGreaterThanOrEqual(5.5);
  });
  test.each(GROUNDS)(`${mode}: controls on %s have 4.5:1 (large or with a shape: 4), borders 3:1`, (ground) => {
    for (const name of ["act", "link", "look", "frost"]) expect(contrast(t[name] ?? "", t[ground] ?? "")).toBeGreaterThanOrEqual(4.5);
    expect(contrast(t["brick"] ?? "", t[ground] ?? "")).toBeGreaterThanOrEqual(4);
    expect(contrast(t["edge"] ?? "", t[ground] ?? "")).toBeGreaterThanOrEqual(3);
  });
  test(`${mode}: words on buttons have 7:1, on brick 4.5:1`, () => {
    expect(contrast(t["act-ink"] ?? "", t["act"] ?? "")).toBeGreaterThanOrEqual(7);
    expect(contrast(t["brick-ink"] ?? "", t["brick"] ?? "")).toBeGreaterThanOrEqual(4.5);
  });
  test(`${mode}: of the two focus rings one has 3:1 on any ground and button`, () => {
    for (const name of [...GROUNDS, "act"]) {
      const best = Math.max(contrast(t["focus-in"] ?? "", t[name] ?? ""), contrast(t["focus-out"] ?? "", t[name] ?? ""));
      expect(best).toBeGreaterThanOrEqual(3);
    }
  });
}
