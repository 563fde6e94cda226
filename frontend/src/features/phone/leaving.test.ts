import { expect, test } from "vitest";
import { mayErase, maySignOut, whatErasingTakes, whySignOutIsOff } from "./leaving.ts";

const none = { waiting: 0, signedOut: false, copied: 0 };

test("signing out is refused while anything is only here, copied out or not", () => {
  expect(maySignOut(none)).toBe(true);
  expect(maySignOut({ ...none, waiting: 1 })).toBe(false);
  expect(maySignOut({ ...none, waiting: 12, copied: 12 })).toBe(false);
  expect(whySignOutIsOff({ ...none, waiting: 12 })).toBe("Off while 12 entries are only on this device. Send them first.");
  expect(whySignOutIsOff({ ...none, waiting: 1, signedOut: true })).toBe("Off while 1 entry is only on this device. Sign in again and it goes out by itself.");
  expect(whySignOutIsOff(none)).toBe("");
});

test("erasing needs a copy of every entry that would be lost", () => {
  expect(mayErase({ ...none, waiting: 12 })).toBe(false);
  expect(mayErase({ ...none, waiting: 12, copied: 11 })).toBe(false);
  expect(mayErase({ ...none, waiting: 12, copied: 12 })).toBe(true);
  expect(mayErase(none)).toBe(false); // then signing out does
  expect(whatErasingTakes({ ...none, waiting: 13, copied: 12 })).toMatch(/holds 12 entries, and 13 are waiting/);
  expect(whatErasingTakes({ ...none, waiting: 12, copied: 12 })).toMatch(/all 12 entries/);
});
