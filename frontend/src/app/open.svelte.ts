/** Opens the check drawer over whatever screen is shown; the camera under it stays as it is. */

import { isTouch } from "../ui/index.ts";

export interface CheckOf {
  /** "" when only a label's code is known. */
  crate: string;
  code: string;
}

let current = $state.raw<CheckOf | null>(null);
let changed = $state(false);
let opener: Element | null = null;

export const openCheck = {
  get current(): CheckOf | null {
    return current;
  },
  /** True while the drawer holds something nobody saved; nothing may take its place then. */
  get changed(): boolean {
    return changed;
  },
};

/** False when a drawer with changes is in the way. */
export function startCheck(of: { crate?: string; code?: string }): boolean {
  const next = { crate: of.crate ?? "", code: of.code ?? "" };
  const same = current?.crate === next.crate && current.code === next.code;
  if (current && changed && !same) return false;
  if (!same) {
    // What lies under the drawer loses the focus at once, so where it was is noted before.
    if (!current) opener = document.activeElement;
    current = next;
    changed = false;
  }
  return true;
}

export function endCheck(): void {
  if (current) setTimeout(giveFocusBack);
  current = null;
  changed = false;
}

function giveFocusBack(): void {
  // A field would bring up a phone's keyboard.
  const field = opener instanceof HTMLInputElement && isTouch();
  if (opener instanceof HTMLElement && opener.isConnected && !field) opener.focus({ preventScroll: true });
  opener = null;
}

export function markChanged(is: boolean): void {
  changed = is;
}
