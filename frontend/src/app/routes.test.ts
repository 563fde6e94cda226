import { expect, test } from "vitest";
import { findScreen } from "./find-screen.ts";
import type { Screen } from "./screen.ts";

const screen = (path: string): Screen => ({ path, title: () => path, load: () => Promise.reject(new Error("not opened")), place: "stock" });
const SCREENS = ["/crate/:crate", "/crate/new", "/t/:code", "/"].map(screen);

test("words win over names, and names are read", () => {
  expect(findScreen("/crate/new", SCREENS)?.screen.path).toBe("/crate/new");
  expect(findScreen("/crate/12", SCREENS)?.params).toEqual({ crate: "12" });
  expect(findScreen("/t/4K7Q-M2X1", SCREENS)?.params).toEqual({ code: "4K7Q-M2X1" });
  expect(findScreen("/t/a%2Fb", SCREENS)?.params).toEqual({ code: "a/b" });
});

test("no screen for a path nobody has, and no crash on a torn one", () => {
  expect(findScreen("/crate", SCREENS)).toBeUndefined();
  expect(findScreen("/crate/1/2", SCREENS)).toBeUndefined();
  expect(findScreen("/t/%E0%A4%A", SCREENS)?.params).toEqual({ code: "%E0%A4%A" });
});
