/** The one message line above the bottom bar. It stays until the next message; nothing is timed. */
export interface Message {
  text: string;
  tone: "plain" | "bad";
  action: { label: string; onpress: () => void } | null;
}

const NONE: Message = { text: "", tone: "plain", action: null };
let current = $state.raw<Message>(NONE);
let saved = $state(0);

export const message = {
  get current(): Message {
    return current;
  },
  /** Goes up with every save; the shell flashes its frame on it. */
  get saves(): number {
    return saved;
  },
};

export function say(text: string, action: Message["action"] = null): void {
  current = { text, tone: "plain", action };
}
export function sayBad(text: string, action: Message["action"] = null): void {
  current = { text, tone: "bad", action };
}
export function clearMessage(): void {
  current = NONE;
}
export function countSave(): void {
  saved += 1;
}
