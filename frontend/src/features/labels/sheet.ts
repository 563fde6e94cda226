/** A job of labels on sheets: how many sheets, what is left over, which cells are used. */
import type { components } from "../../sync/api-types.d.ts";

export type LabelKind = components["schemas"]["StockKind"];
export type LabelStock = components["schemas"]["Stock"];

const LETTER_MM = 215;

/** What to offer first: a sheet of the country's paper whose code can be read at arm's length. */
export function usualStock(stocks: readonly LabelStock[], kind: LabelKind["kind"], isUs: boolean): LabelStock | undefined {
  const sheets = stocks.filter((one) => !one.is_roll && one.page_width_mm > LETTER_MM === isUs);
  const far = sheets.filter((one) => one.kinds.some((each) => each.kind === kind && !each.close_range));
  return far[0] ?? sheets[0] ?? stocks[0];
}

export interface SheetPlan {
  sheets: number;
  /** Free cells on the last sheet. */
  leftOver: number;
  /** Where the next job can begin, 1 when the last sheet is full. */
  nextStart: number;
}

/** `count` labels from cell `start` (from 1) on sheets of `perSheet`; nothing to print takes no sheet. */
export function planSheets(count: number, start: number, perSheet: number): SheetPlan {
  if (count <= 0) return { sheets: 0, leftOver: 0, nextStart: start };
  const last = start - 1 + count;
  const sheets = Math.ceil(last / perSheet);
  return { sheets, leftOver: sheets * perSheet - last, nextStart: (last % perSheet) + 1 };
}

const labels = (count: number): string => (count === 1 ? "1 label" : `${count} labels`);

/** "26 labels on 2 sheets, 4 left over" */
export function planSays(count: number, start: number, stock: Pick<LabelStock, "labels_per_sheet" | "is_roll">): string {
  if (count <= 0) return "Nothing chosen to print";
  if (stock.is_roll) return `${labels(count)} on the roll`;
  const { sheets, leftOver } = planSheets(count, start, stock.labels_per_sheet);
  const on = sheets === 1 ? "1 sheet" : `${sheets} sheets`;
  return `${labels(count)} on ${on}${leftOver ? `, ${leftOver} left over` : ""}`;
}

export type CellState = "used" | "print" | "free";

/** What becomes of each cell of the first sheet. */
export function cellStates(count: number, start: number, perSheet: number): CellState[] {
  return Array.from({ length: perSheet }, (_, index) => {
    if (index < start - 1) return "used";
    return index < start - 1 + count ? "print" : "free";
  });
}
