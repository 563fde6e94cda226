import type { Asked } from "../../sync/session.ts";

/** A sheet that was made and not yet answered for; kept over a reload. */
export interface Job {
  kind: "crate" | "lot" | "blank";
  stock: string;
  copies: number;
  start: number;
  /** Of each label, in order. */
  codes: string[];
}

/** How this phone prints on a stock. */
export interface Settings {
  stock: string;
  copies: number;
  /** Per stock: the next free cell and the printer's corrections. */
  sheets: Record<string, Placement>;
}

export interface Placement {
  start: number;
  offset_x_mm: number;
  offset_y_mm: number;
  pitch_x_mm: number | null;
  pitch_y_mm: number | null;
}

export const PLAIN: Placement = { start: 1, offset_x_mm: 0, offset_y_mm: 0, pitch_x_mm: null, pitch_y_mm: null };

export const JOB_KEY = "labels-job";
export const SETTINGS_KEY = "labels-settings";
export const STOCKS_KEY = "labels-stocks";

/** What the farm's computer is asked for. */
export function pdfRequest(job: Job, placement: Placement): string {
  const { offset_x_mm, offset_y_mm, pitch_x_mm, pitch_y_mm } = placement;
  return JSON.stringify({
    kind: job.kind,
    stock: job.stock,
    targets: job.codes,
    copies: job.copies,
    start_at: job.start,
    offset_x_mm,
    offset_y_mm,
    pitch_x_mm,
    pitch_y_mm,
  });
}

/** Where the page that shows what the printer does is asked for. */
export function testPagePath(stock: string, placement: Placement): Asked {
  const asked = Object.entries({ ...placement, stock }).filter(([name, value]) => name !== "start" && value !== null);
  return `/api/labels/calibration/?${asked.map(([name, value]) => `${name}=${encodeURIComponent(String(value))}`).join("&")}`;
}
