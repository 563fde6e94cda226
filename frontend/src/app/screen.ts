import type { Component } from "svelte";
import type { StockState } from "../core/stock/state.ts";

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
  start?: {
    from: StartedFrom[];
    label: () => string;
    order: number;
    /** False keeps it out of the first few buttons: it makes no sense for this thing now. */
    fits?: (state: StockState, from: StartedFrom, id: string) => boolean;
  };
  /** Kinds of entries it can correct; the entry comes in the query: ?correct=HASH. */
  corrects?: string[];
  /** Starts anew when the query changes: a form opened for another crate is another form. */
  anew?: boolean;
  /** Uses the whole width of a desk. */
  wide?: boolean;
  /** Can be seen before anybody signed in. */
  open?: boolean;
}
