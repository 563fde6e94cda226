import { heard } from "../scans.ts";
import { Burst } from "./burst.ts";

/** Hears a scanner that acts as a keyboard, on any screen. The answer ends it. */
export function hearKeyboardScanner(otherwise: (text: string) => void): () => void {
  const burst = new Burst();
  const onkeydown = (event: KeyboardEvent) => {
    const text = burst.key(event.key, event.timeStamp);
    if (text === null) return;
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

/** What the scanner typed into a field by the way is taken out again. */
function takeOut(target: EventTarget | null, text: string): void {
  if (!(target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement)) return;
  if (!target.value.endsWith(text)) return;
  target.value = target.value.slice(0, -text.length);
  target.dispatchEvent(new Event("input", { bubbles: true }));
}
