/**
 * Wet glass makes touches nobody meant. A press by touch counts only when it
 * stayed at least 60 ms, was alone on the glass, and is not the same press again
 * within 400 ms. Keyboard, mouse, switch and screen reader always pass.
 */
export const LEAST_PRESS_MS = 60;
export const REPEAT_MS = 400;

export interface Press {
  pointer: "touch" | "pen" | "mouse" | "none";
  heldMs: number;
  /** Pointers on the glass at any time during the press. */
  fingers: number;
  /** Since the last press that counted; Infinity when there was none. */
  sinceLastMs: number;
}

/** True when the press is meant; `once` also refuses a repeat (Save, Undo). */
export function isMeant(press: Press, once: boolean): boolean {
  if (press.pointer === "none" || press.pointer === "mouse") return true;
  if (press.fingers > 1) return false;
  if (press.heldMs < LEAST_PRESS_MS) return false;
  return !(once && press.sinceLastMs < REPEAT_MS);
}

const onGlass = new Set<number>();
let watching = false;

function watchGlass(): void {
  if (watching) return;
  watching = true;
  const down = (event: PointerEvent) => onGlass.add(event.pointerId);
  const up = (event: PointerEvent) => onGlass.delete(event.pointerId);
  addEventListener("pointerdown", down, true);
  addEventListener("pointerup", up, true);
  addEventListener("pointercancel", up, true);
}

export interface TapOptions {
  onpress?: ((event: MouseEvent) => void) | undefined;
  once?: boolean | undefined;
}

/** Svelte action: calls `onpress` for presses that are meant and swallows the others. */
export function tap(node: HTMLElement, options: TapOptions) {
  watchGlass();
  let current = options;
  let down: { at: number; pointer: Press["pointer"]; fingers: number; id: number } | null = null;
  let up: { at: number; heldMs: number; pointer: Press["pointer"]; fingers: number } | null = null;
  let lastAt = -Infinity;

  const ondown = (event: PointerEvent) => {
    if (down) {
      down.fingers = Math.max(down.fingers, onGlass.size);
      return;
    }
    const pointer = event.pointerType as Press["pointer"];
    down = { at: event.timeStamp, pointer, fingers: onGlass.size, id: event.pointerId };
  };
  const onup = (event: PointerEvent) => {
    if (!down || event.pointerId !== down.id) return;
    const fingers = Math.max(down.fingers, onGlass.size + (onGlass.has(event.pointerId) ? 0 : 1));
    up = { at: event.timeStamp, heldMs: event.timeStamp - down.at, pointer: down.pointer, fingers };
    down = null;
  };
  // A finger leaves the glass after pointerup too, so what `up` knows must stay.
  const onleave = () => {
    down = null;
  };
  const oncancel = () => {
    down = null;
    up = null;
  };
  const onclick = (event: MouseEvent) => {
    const byPointer = event.detail > 0 && up !== null && event.timeStamp - up.at < 700;
    const press: Press = byPointer && up
      ? { pointer: up.pointer, heldMs: up.heldMs, fingers: up.fingers, sinceLastMs: event.timeStamp - lastAt }
      : { pointer: "none", heldMs: 0, fingers: 0, sinceLastMs: Infinity };
    up = null;
    if (!isMeant(press, current.once ?? false)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    lastAt = event.timeStamp;
    current.onpress?.(event);
  };
  node.addEventListener("pointerdown", ondown);
  node.addEventListener("pointerup", onup);
  node.addEventListener("pointercancel", oncancel);
  node.addEventListener("pointerleave", onleave);
  node.addEventListener("click", onclick);
  return {
    update(next: TapOptions) {
      current = next;
    },
    destroy() {
      node.removeEventListener("pointerdown", ondown);
      node.removeEventListener("pointerup", onup);
      node.removeEventListener("pointercancel", oncancel);
      node.removeEventListener("pointerleave", onleave);
      node.removeEventListener("click", onclick);
    },
  };
}
