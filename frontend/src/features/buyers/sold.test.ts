import { expect, test } from "vitest";
import { id, lotOf, stockOf } from "../../app/form/testing.ts";
import type { LocalEntry } from "../../sync/session.ts";
import { soldIn } from "./sold.ts";

const LOT = id(1);
const SALE = id(50);
const entry = (sha: string, body: Record<string, unknown>, kind = "gone_out"): LocalEntry => ({
  sha, id: sha, seq: 1, kind, v: 1, body, occurred_on: "2026-11-02", recorded_at: 1, author: "a", device: "d", held: null, status: "safe", role: "owner", relayed_by: null,
});
const posting = (record: string, how: string, amount: number, on = "2026-11-02", lot = LOT) => ({ record, lot, unit: "tuber", account: "gone_out", amount, stage: "", cause: "", how, on });
const entries: Record<string, LocalEntry> = {
  a: entry("a", { lot: LOT, count: 4, how: "sold", sale: SALE }),
  b: entry("b", { lot: LOT, count: 2, how: "sold", sale: SALE }),
  c: entry("c", { lot: LOT, count: 7, how: "sold" }),
  g: entry("g", { lot: LOT, count: 1, how: "given" }),
};
const stock = stockOf({
  lots: { [LOT]: lotOf({ variety: "v" }) },
  postings: { "a:0": posting("a", "sold", -4), "b:0": posting("b", "sold", -2, "2026-11-03"), "c:0": posting("c", "sold", -7, "2026-11-01"), "g:0": posting("g", "given", -1) },
});

test("lines of one sale stand together, newest first; what was given is no sale", () => {
  const sold = soldIn(stock, (sha) => entries[sha], () => []);
  expect(sold.map(({ key, sale, on, lines }) => [key, sale, on, lines.map((line) => line.count)])).toEqual([
    [SALE, SALE, "2026-11-03", [4, 2]],
    ["c", "", "2026-11-01", [7]],
  ]);
});

test("an entry corrected to name its sale is found under it", () => {
  const mend = entry("m", { target: "c", as_v: 1, body: { ...entries["c"]!.body, sale: id(51) } }, "record_corrected");
  const sold = soldIn(stock, (sha) => entries[sha], (sha) => (sha === "c" ? [mend] : []));
  expect(sold.at(-1)).toMatchObject({ key: id(51), sale: id(51) });
});
