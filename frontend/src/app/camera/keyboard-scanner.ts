import { normaliseCode } from "../../core/codes/codes.ts";
import { heard } from "../scans.ts";
import { Burst } from "./burst.ts";

/** Hears a scanner that acts as a keyboard, on any screen. The answer ends it. */
export function hearKeyboardScanner(otherwise: (text: string) => void): () => void {
  const burst = new Burst();
  const onkeydown = (event: KeyboardEvent) => {
    const text = burst.key(event.key, event.timeStamp);
    if (text === null) return;
    // Quick words in a field are words; only a code is taken out of it.
    if (isField(event.target) && normaliseCode(text) === null) return;
    event.preventDefault();
    event.stopPropagation();
    takeOut(event.target, text);
    heard(text, otherwise);
  };
  addEventListener("keydown", onkeydown, true);
  return () => {
    removeEventListener("keydown", onkeydown, true);
  };
}

function isField(target: EventTarget | null): target is HTMLInputElement | HTMLTextAreaElement {
  return target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement;
}

/** What the scanner typed into a field by the way is taken out again. */
function takeOut(target: EventTarget | null, text: string): void {
  if (!isField(target)) return;
  if (!target.value.endsWith(text)) return;
  target.value = target.value.slice(0, -text.length);
  target.dispatchEvent(new Event("input", { bubbles: true }));
}
