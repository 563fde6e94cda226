import type { StockState } from "../../core/stock/state.ts";
import { daysBetween } from "../../ui/index.ts";

const FROST_MILLI_C = 1000;
const LATELY_DAYS = 14;

/** True when the place went under 1 °C in the last fortnight, so that frost is looked for first. */
export function mayBeFrozen(state: StockState, place: string, today: string, roundTempC: number | null): boolean {
  if (roundTempC !== null && roundTempC < FROST_MILLI_C / 1000) return true;
  if (!place) return false;
  return Object.values(state.readings).some(
    (one) =>
      one.place === place &&
      one.temp_milli_c !== null &&
      one.temp_milli_c < FROST_MILLI_C &&
      daysBetween(one.on, today) <= LATELY_DAYS,
  );
}
