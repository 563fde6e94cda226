import type { Screen } from "./screen.ts";

export interface Found {
  screen: Screen;
  params: Record<string, string>;
}

/** The screen of a path, words before :names; undefined when there is none. */
export function findScreen(path: string, among: readonly Screen[]): Found | undefined {
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
    const got = readable(parts[index] ?? "");
    if (want.startsWith(":")) params[want.slice(1)] = got;
    else if (want !== got) return null;
  }
  return params;
}

/** As it was meant; a torn escape stays as it is. */
function readable(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
