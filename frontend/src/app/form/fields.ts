import type { NewRow } from "./new-rows.ts";

/** What every form holds besides its own fields. */
export interface Fields {
  /** YYYY-MM-DD; "" stands for today. */
  on: string;
  note: string;
  rows: NewRow[];
}

export const NO_FIELDS: Fields = { on: "", note: "", rows: [] };
