import { drawerSettled } from "../ui/index.ts";
import { findScreen, type Found } from "./find-screen.ts";
import { screens } from "./routes.ts";

interface Where {
  path: string;
  query: URLSearchParams;
  found: Found | undefined;
}

function read(): Where {
  const path = location.pathname.replace(/\/+$/, "") || "/";
  return { path, query: new URLSearchParams(location.search), found: findScreen(path, screens) };
}

let where = $state.raw<Where>(read());

/** Where the app is: path, query and the screen that belongs to it. */
export const route = {
  get path(): string {
    return where.path;
  },
  get query(): URLSearchParams {
    return where.query;
  },
  get found(): Found | undefined {
    return where.found;
  },
};

/** Goes to a screen of the app without loading the document again: the camera stays open. */
export async function go(href: string, options: { replace?: boolean } = {}): Promise<void> {
  await drawerSettled();
  if (options.replace) history.replaceState(history.state, "", href);
  else history.pushState({}, "", href);
  const before = where.path;
  where = read();
  if (before !== where.path) scrollTo(0, 0);
}

/** One step back, or to `fallback` when the app was opened here. */
export function back(fallback: string): void {
  if (history.length > 1) history.back();
  else void go(fallback, { replace: true });
}

const FOREIGN = /^\/(api|sync|blob|admin|static|start|trust|assets)(\/|$)/;

/** Makes plain links of the page stay inside the document. Returns what ends it. */
export function followLinks(): () => void {
  const onclick = (event: MouseEvent) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    const link = (event.target as Element | null)?.closest("a");
    const to = link?.getAttribute("href");
    if (!link || !to?.startsWith("/") || link.target || link.hasAttribute("download")) return;
    if (FOREIGN.test(to)) return;
    event.preventDefault();
    void go(to);
  };
  const onpop = () => {
    const next = read();
    if (next.path !== where.path || next.query.toString() !== where.query.toString()) where = next;
  };
  document.addEventListener("click", onclick);
  addEventListener("popstate", onpop);
  return () => {
    document.removeEventListener("click", onclick);
    removeEventListener("popstate", onpop);
  };
}
