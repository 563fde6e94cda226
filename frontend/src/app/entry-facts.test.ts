import { describe, expect, it } from "vitest";
import type { LocalEntry } from "../sync/session.ts";
import { factsOf, writerOf } from "./entry-facts.ts";

const entry = (more: Partial<LocalEntry> = {}): LocalEntry => ({
  sha: "s", id: "", seq: 1, kind: "checked", v: 1, body: {}, occurred_on: "2027-01-10", recorded_at: 1000, author: "ben",
  device: "bens", held: null, status: "safe", role: "helper", relayed_by: "bens", received_at: 2000, ...more,
});
const words = {
  day: (date: string) => date,
  moment: (ms: number) => `at ${ms}`,
  person: () => "Ben",
  phone: (id: string) => ({ bens: "Ben’s phone", anas: "Ana’s phone" })[id] ?? id,
  role: (role: string) => role,
};

describe("what is known of an entry", () => {
  it("is who, on which phone, when it happened, was written and reached the farm", () => {
    expect(factsOf(entry(), words)).toEqual([
      ["Who", "Ben, helper"], ["Phone", "Ben’s phone"], ["Happened", "2027-01-10"], ["Written", "at 1000"], ["Reached the farm", "at 2000"],
    ]);
  });
  it("says by whose phone it came when that is another", () => {
    expect(factsOf(entry({ relayed_by: "anas" }), words).at(-1)).toEqual(["Reached the farm", "at 2000, brought by Ana’s phone"]);
  });
  it("says that the farm's computer does not have it yet", () => {
    const said = factsOf(entry({ seq: null, status: "here", received_at: null, relayed_by: null, role: "" }), words);
    expect(said.at(-1)).toEqual(["Reached the farm", "not yet, it is only on this phone"]);
    expect(said[0]).toEqual(["Who", "Ben"]);
  });
  it("names the farm's computer, and those no longer on the list", () => {
    const members = [{ id: "ben", name: "Ben" }];
    expect(writerOf({ author: "ben", role: "helper" }, members)).toBe("Ben");
    expect(writerOf({ author: "x", role: "server" }, members)).toBe("the farm’s computer");
    expect(writerOf({ author: "x", role: "helper" }, members)).toContain("no longer");
  });
});
