import type { Component } from "svelte";

/** The five places, in the order of the bar. */
export const PLACES = ["scan", "todo", "stock", "results", "phone"] as const;
export type PlaceOfBar = (typeof PLACES)[number];

/** Where a screen can be started from; a crate or lot comes in the query: ?crate=ID, ?lot=ID. */
export type StartedFrom = "farm" | "crate" | "lot";

export interface ScreenProps {
  /** From the path: "/crates/:crate" gives params.crate. */
  params: Record<string, string>;
  query: URLSearchParams;
}

export interface Screen {
  /** "/crates/:crate"; each part is a word or a :name. */
  path: string;
  title: () => string;
  /** The component gets ScreenProps; one that needs none takes none. */
  load: () => Promise<{ default: Component<never> }>;
  place: PlaceOfBar;
  /** Dark for the cellar, light for everything else. Day when left out. */
  mode?: "cellar" | "day";
  /** Offers the screen as something to do, in drawers and on To do. */
  start?: { from: StartedFrom[]; label: () => string; order: number };
  /** Uses the whole width of a desk. */
  wide?: boolean;
  /** Can be seen before anybody signed in. */
  open?: boolean;
}
