/** What can be started from where. Features ask here and so need not know each other. */
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

export const homeOf: Record<PlaceOfBar, string> = {
  scan: "/scan",
  todo: "/todo",
  stock: "/stock",
  results: "/results",
  phone: "/phone",
};
