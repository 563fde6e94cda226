/** Who hears what a keyboard scanner or camera reads: the screen that asked last, else the app. */
type Hears = (text: string) => void;

const stack: Hears[] = [];

/** This screen takes readings until the answer is called. */
export function hearScans(hears: Hears): () => void {
  stack.push(hears);
  return () => {
    stack.splice(stack.indexOf(hears), 1);
  };
}

export function heard(text: string, otherwise: Hears): void {
  (stack.at(-1) ?? otherwise)(text);
}
