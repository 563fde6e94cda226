/** Settings of this phone alone; the farm's settings are in its rows. */

export interface Prefs {
  /** "" lets the screen decide. */
  mode: "" | "cellar" | "day";
  thumb: "right" | "left";
  bigger: boolean;
  beep: boolean;
  beepOnSilent: boolean;
  frame: boolean;
  /** "" follows the farm, then the browser. */
  locale: "" | "en-US" | "en-GB";
  tempUnit: "" | "c" | "f";
  lamp: boolean;
  lens: string;
}

const DEFAULTS: Prefs = {
  mode: "",
  thumb: "right",
  bigger: false,
  beep: true,
  beepOnSilent: false,
  frame: true,
  locale: "",
  tempUnit: "",
  lamp: false,
  lens: "",
};
const KEY = "winter-tally-phone";

function stored(): Partial<Prefs> {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? "{}") as Partial<Prefs>;
  } catch {
    return {}; // Storage is off in this browser: the settings last until it closes.
  }
}

export const prefs: Prefs = $state({ ...DEFAULTS, ...(typeof localStorage === "undefined" ? {} : stored()) });

export function setPref<K extends keyof Prefs>(key: K, value: Prefs[K]): void {
  prefs[key] = value;
  try {
    localStorage.setItem(KEY, JSON.stringify(prefs));
  } catch {
    return;
  }
}
