/** What can be started from where. Features ask here and so need not know each other. */
import type { StockState } from "../core/stock/state.ts";
import type { PlaceOfBar, Screen, StartedFrom } from "./screen.ts";

let offered: readonly Screen[] = [];

/** Said once by the list of routes. */
export function offerScreens(screens: readonly Screen[]): void {
  offered = screens;
}

export interface Start {
  href: string;
  label: string;
}

/** Most usual first; a crate or lot goes along in the query. */
export function startsFrom(from: StartedFrom, id = ""): Start[] {
  return offered
    .flatMap((screen) => (screen.start?.from.includes(from) ? [{ screen, start: screen.start }] : []))
    .sort((a, b) => a.start.order - b.start.order)
    .map(({ screen, start }) => ({
      href: from === "farm" ? screen.path : `${screen.path}?${from}=${id}`,
      label: start.label(),
    }));
}

/** The few things most likely done next with a crate or lot, as it stands now. */
export function offersFor(state: StockState, from: StartedFrom, id: string, most = 4): Start[] {
  const fitting = offered.filter((screen) => screen.start?.from.includes(from) && (screen.start.fits?.(state, from, id) ?? true));
  const paths = new Set(fitting.map((screen) => screen.path));
  return startsFrom(from, id)
    .filter((start) => paths.has(start.href.split("?")[0] ?? ""))
    .slice(0, most);
}

/** Where an entry is corrected: the form it was written with, or the plain one. */
export function correctionHref(entry: { sha: string; kind: string }): string {
  const form = offered.find((screen) => screen.corrects?.includes(entry.kind));
  return form ? `${form.path}?correct=${entry.sha}` : `/correct/${entry.sha}`;
}

export const homeOf: Record<PlaceOfBar, string> = {
  scan: "/scan",
  todo: "/todo",
  stock: "/stock",
  results: "/results",
  phone: "/phone",
};
