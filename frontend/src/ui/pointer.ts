/** True where a finger, not a mouse, is the main pointer. */
export function isTouch(): boolean {
  return typeof matchMedia === "function" && matchMedia("(pointer: coarse)").matches;
}
