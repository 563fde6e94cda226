/**
 * Lets the phone's back button close a drawer. Going back is not at once, so
 * whoever writes history next waits for it to have happened.
 */
let settling: Promise<void> = Promise.resolve();

interface Marked {
  drawer?: string;
}
const current = (): string | undefined => (history.state as Marked | null)?.drawer;

/** Resolves when no closing drawer has a step back outstanding. */
export function drawerSettled(): Promise<void> {
  return settling;
}

/** Puts one step into history for the drawer; the answer takes it out again. */
export function holdBack(mark: string, onback: () => void): () => void {
  let over = false;
  let pushed = false;
  const onpop = () => {
    if (pushed && !over && current() !== mark) {
      over = true;
      onback();
    }
  };
  void settling.then(() => {
    if (over) return;
    history.pushState({ ...(history.state as object), drawer: mark }, "");
    pushed = true;
    addEventListener("popstate", onpop);
  });
  return () => {
    over = true;
    removeEventListener("popstate", onpop);
    if (!pushed || current() !== mark) return;
    settling = new Promise((resolve) => {
      const done = () => {
        removeEventListener("popstate", done);
        resolve();
      };
      addEventListener("popstate", done);
      setTimeout(done, 500);
      history.back();
    });
  };
}
