import { expect, test } from "vitest";
import { draftsOf, good, isChanged, newForm, noteSign, overfull, throwOut, type CheckForm, type Extras } from "./form.ts";
import { buttonWords, saidWords } from "./wording.ts";
import { emptyState, lotOf } from "./testing.ts";

const CAUSES = { rot: "Rot", dried_up: "Dried up" };
const EXTRAS: Extras = { round: "", inside_temp_c: null, mass_g: null, today: "2026-11-25" };

function crateWith(...counts: number[]): CheckForm {
  const state = emptyState();
  const lots = counts.map((count, i) => {
    const id = `lot-${i}`;
    state.lots[id] = lotOf({ balance: count, container: "c" });
    return id;
  });
  state.crates["c"] = { ...state.crates["c"], lots } as (typeof state.crates)[string];
  return newForm(state, { crate: "c", code: "" }, "top");
}
const bodyOf = (form: CheckForm) => draftsOf(form, EXTRAS)[0]?.body as Record<string, unknown>;

test("a look on top vouches for what was seen and no more", () => {
  const form = crateWith(34);
  expect(buttonWords(form, CAUSES)).toBe("Looked on top: nothing bad");
  expect(bodyOf(form)).toEqual({ crate: "c", look: "top", lines: [{ lot: "lot-0", expected: 34 }] });
});

test("some and all say how far the look went", () => {
  const some: CheckForm = { ...crateWith(34), look: "some" };
  expect(buttonWords(some, CAUSES)).toBe("10 of 34 seen, all good");
  expect(bodyOf(some)["lines"]).toEqual([{ lot: "lot-0", expected: 34, seen: 10 }]);
  const all: CheckForm = { ...crateWith(34), look: "all" };
  expect(buttonWords(all, CAUSES)).toBe("Went through all: 34 good");
  expect(bodyOf(all)["lines"]).toEqual([{ lot: "lot-0", expected: 34, seen: 34, all: true }]);
});

test("each press of a cause is one more out and one fewer good", () => {
  let form = crateWith(34);
  form = throwOut(throwOut(form, "lot-0", "rot", 1), "lot-0", "rot", 1);
  expect(good(form)).toBe(32);
  expect(buttonWords(form, CAUSES)).toBe("Save: 2 rot, 32 left");
  expect(buttonWords({ ...form, look: "all" }, CAUSES)).toBe("Save: 32 good, 2 rot");
  expect(saidWords(form, "Crate 12", CAUSES)).toBe("Crate 12: 32 left, 2 rot");
  expect(bodyOf(form)["lines"]).toEqual([{ lot: "lot-0", expected: 34, removed: { rot: 2 } }]);
});

test("minus takes a cause away again, and never below nothing", () => {
  const form = throwOut(throwOut(crateWith(5), "lot-0", "rot", 1), "lot-0", "rot", -1);
  expect(isChanged(form)).toBe(false);
  expect(isChanged(throwOut(form, "lot-0", "rot", -1))).toBe(false);
});

test("gone through with losses: the seen include those thrown out", () => {
  const form: CheckForm = { ...throwOut(crateWith(34), "lot-0", "rot", 2), look: "all" };
  expect(bodyOf(form)["lines"]).toEqual([{ lot: "lot-0", expected: 34, seen: 34, all: true, removed: { rot: 2 } }]);
});

test("a recount posts a count and no cause", () => {
  const form = crateWith(34);
  form.lines = form.lines.map((line) => ({ ...line, counted: 31 }));
  const drafts = draftsOf(form, EXTRAS);
  expect(drafts.map((draft) => draft.kind)).toEqual(["checked", "counted"]);
  expect(drafts[1]?.body).toEqual({ lot: "lot-0", count: 31 });
  expect(bodyOf(form)).toMatchObject({ look: "all", lines: [{ lot: "lot-0", expected: 34, seen: 31, all: true }] });
  expect(JSON.stringify(drafts)).not.toContain("removed");
});

test("more than the book says is asked about, and nothing below nothing is saved in silence", () => {
  const more = crateWith(34);
  more.lines = more.lines.map((line) => ({ ...line, counted: 36 }));
  expect(overfull(more)).toEqual([{ lot: "lot-0", expected: 34, found: 36 }]);
  const three = throwOut(crateWith(2), "lot-0", "rot", 3);
  expect(overfull(three)).toEqual([{ lot: "lot-0", expected: 2, found: 3 }]);
  expect(draftsOf(three, EXTRAS)[1]?.body).toEqual({ lot: "lot-0", count: 0 });
  expect(overfull(crateWith(34))).toEqual([]);
});

test("of several lots only the one named loses; nobody knows which is kept as that", () => {
  const form = throwOut(throwOut(crateWith(6, 6, 6), "lot-1", "rot", 2), "", "rot", 1);
  expect(bodyOf(form)["lines"]).toEqual([
    { lot: "lot-0", expected: 6 },
    { lot: "lot-1", expected: 6, removed: { rot: 2 } },
    { lot: "lot-2", expected: 6 },
  ]);
  expect(bodyOf(form)["unassigned"]).toEqual({ rot: 1 });
  expect(buttonWords(form, CAUSES)).toBe("Save: 3 rot, 15 left");
});

test("kept signs cost nothing", () => {
  const form = { ...noteSign(crateWith(34), "lot-0", "wrinkled", 2), signs: ["misted"] };
  expect(good(form)).toBe(34);
  expect(bodyOf(form)["lines"]).toEqual([{ lot: "lot-0", expected: 34, noted: { wrinkled: 2, misted: 34 } }]);
});

test("a label nobody knows is kept by its code", () => {
  const form = throwOut(newForm(emptyState(), { crate: "", code: "4K7QM2X1" }, "top"), "", "rot", 2);
  expect(bodyOf(form)).toEqual({ code: "4K7QM2X1", look: "top", lines: [], unassigned: { rot: 2 } });
});

test("yesterday is written only when it was not today", () => {
  const form = crateWith(3);
  expect(draftsOf({ ...form, occurred_on: "2026-11-24" }, EXTRAS)[0]?.occurred_on).toBe("2026-11-24");
  expect(draftsOf({ ...form, occurred_on: "2026-11-25" }, EXTRAS)[0]).not.toHaveProperty("occurred_on");
});
