/**
 * Keys for a list or table with a search: "/" goes to the search, the arrows go
 * from row to row, Escape empties the search. Enter opens, since rows are links.
 */
export function rowKeys(node: HTMLElement): { destroy: () => void } {
  const search = (): HTMLInputElement | null => node.querySelector("input[type=search]");
  const rows = (): HTMLElement[] => [
    ...node.querySelectorAll<HTMLElement>("tbody th a, tbody th button, .lines a, .lines button"),
  ];
  const typing = (target: EventTarget | null): boolean =>
    target instanceof HTMLElement &&
    (target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName));

  function onslash(event: KeyboardEvent): void {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (typing(event.target) || document.documentElement.dataset["drawer"] === "open") return;
    const input = search();
    if (!input) return;
    event.preventDefault();
    input.focus();
    input.select();
  }
  function onkeydown(event: KeyboardEvent): void {
    const input = search();
    if (event.key === "Escape" && event.target === input && input) {
      if (input.value === "") input.blur();
      input.value = "";
      input.dispatchEvent(new Event("input", { bubbles: true }));
    } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      const all = rows();
      const at = nextRow(all.indexOf(document.activeElement as HTMLElement), event.key === "ArrowDown" ? 1 : -1, all.length);
      if (event.target !== input && !all.includes(event.target as HTMLElement)) return;
      event.preventDefault();
      if (at < 0) input?.focus();
      else all[at]?.focus();
    } else if (event.key === "Enter" && event.target === input) {
      const first = rows()[0];
      if (!first || input?.value === "") return;
      event.preventDefault();
      first.click();
    }
  }
  addEventListener("keydown", onslash);
  node.addEventListener("keydown", onkeydown);
  return {
    destroy: () => {
      removeEventListener("keydown", onslash);
      node.removeEventListener("keydown", onkeydown);
    },
  };
}

/** The row after this one; -1 stands for the search above them. */
export function nextRow(at: number, by: 1 | -1, count: number): number {
  return Math.max(-1, Math.min(at + by, count - 1));
}
