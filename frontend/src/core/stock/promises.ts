/** What is promised to buyers, and whether there is enough of it. */
import { compareTexts } from "./entries.ts";
import type { Act } from "./acts.ts";
import { problem, type Found } from "./problems.ts";
import type { Problem, Promised, StockState } from "./state.ts";

export function promisePage(act: Act, variety: string): Promised {
  const { body, on } = act;
  return { variety, lot: body.lot ?? "", count: body.count ?? 0, order: body.order ?? "", on };
}

/** Varieties of which more single tubers are promised than there are. */
export function shortPromises(
  state: StockState,
  orders: readonly Act[],
  varietyOfLot: (lot: string) => string,
): Found {
  const open = openOrders(state, orders, varietyOfLot);
  const there = tubersThere(state);
  const found = new Map<string, Problem>();
  for (const [variety, counts] of open) {
    const promised = [...counts.values()].reduce((sum, count) => sum + Math.max(0, count), 0);
    const left = there.get(variety) ?? 0;
    if (promised > left) {
      const key = `promised_short:${variety}:${promised - left}`;
      const facts = { variety, promised, there: left };
      found.set(key, problem("promised_short", promisesOf(state, variety), { outs: ["accept"], facts }));
    }
  }
  return found;
}

/** variety → order → tubers still promised */
function openOrders(
  state: StockState,
  orders: readonly Act[],
  varietyOfLot: (lot: string) => string,
): Map<string, Map<string, number>> {
  const open = new Map<string, Map<string, number>>();
  for (const { variety, order, count } of Object.values(state.promises)) {
    const counts = open.get(variety) ?? new Map<string, number>();
    open.set(variety, counts.set(order, (counts.get(order) ?? 0) + count));
  }
  for (const { kind, body } of orders) {
    if (kind !== "gone_out") continue;
    const counts = open.get(varietyOfLot(body.lot ?? ""));
    const order = body.order ?? "";
    const promised = counts?.get(order);
    if (promised !== undefined) counts?.set(order, promised - (body.count ?? 0));
  }
  return open;
}

function tubersThere(state: StockState): Map<string, number> {
  const there = new Map<string, number>();
  for (const { unit, quarantined, variety, balance } of Object.values(state.lots)) {
    if (unit === "tuber" && quarantined === 0) {
      there.set(variety, (there.get(variety) ?? 0) + Math.max(0, balance));
    }
  }
  return there;
}

function promisesOf(state: StockState, variety: string): string[] {
  return Object.entries(state.promises)
    .filter(([, page]) => page.variety === variety)
    .map(([sha]) => sha)
    .sort(compareTexts);
}
