/**
 * Every screen. A feature has a file routes.ts that exports `routes: Screen[]`;
 * taking the folder away takes its screens away.
 */
import type { Screen } from "./screen.ts";
import { offerScreens } from "./starts.ts";

const found = import.meta.glob<Screen[]>("../features/*/routes.ts", { eager: true, import: "routes" });

const kit: Screen[] = import.meta.env.DEV
  ? [{ path: "/kit", title: () => "Kit", load: () => import("./kit/KitPage.svelte"), place: "phone", open: true }]
  : [];

export const screens: Screen[] = [...Object.values(found).flat(), ...kit];

export interface Found {
  screen: Screen;
  params: Record<string, string>;
}

/** The screen of a path, words before :names; undefined when there is none. */
export function findScreen(path: string, among: readonly Screen[] = screens): Found | undefined {
  const parts = path.split("/").filter(Boolean);
  const fits = among
    .map((screen) => ({ screen, params: fit(screen.path, parts) }))
    .filter((one): one is Found => one.params !== null);
  return fits.sort((a, b) => names(a.screen.path) - names(b.screen.path))[0];
}

const names = (path: string): number => path.split("/:").length - 1;

function fit(pattern: string, parts: string[]): Record<string, string> | null {
  const wanted = pattern.split("/").filter(Boolean);
  if (wanted.length !== parts.length) return null;
  const params: Record<string, string> = {};
  for (const [index, want] of wanted.entries()) {
    const got = decodeURIComponent(parts[index] ?? "");
    if (want.startsWith(":")) params[want.slice(1)] = got;
    else if (want !== got) return null;
  }
  return params;
}

offerScreens(screens);
