/** Winters by the date of packing, by the same rule as the farm's computer. */

export interface Season {
  start: number;
  end: number;
}

/** September to June, in the south March to December, where the farm set no months of its own. */
export function seasonOf(setting: (field: string) => unknown): Season {
  const month = (value: unknown): number | null =>
    typeof value === "number" && Number.isInteger(value) && value >= 1 && value <= 12 ? value : null;
  const [start, end] = setting("hemisphere") === "south" ? [3, 12] : [9, 6];
  return {
    start: month(setting("winter_start_month")) ?? start,
    end: month(setting("winter_end_month")) ?? end,
  };
}

/** "2026/27", or "2026" where a winter lies in one year. Months after its last belong to the coming one. */
export function winterOf(packedOn: string, season: Season): string {
  const year = Number(packedOn.slice(0, 4));
  const later = Number(packedOn.slice(5, 7)) > season.end;
  if (season.start <= season.end) return String(later ? year + 1 : year);
  const first = later ? year : year - 1;
  return `${first}/${String((first + 1) % 100).padStart(2, "0")}`;
}
