import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/scan", title: () => w.places.scan, load: () => import("./ScanPage.svelte"), place: "scan", mode: "cellar" },
  { path: "/scan/list", title: () => "Crates", load: () => import("./ListPage.svelte"), place: "scan", mode: "cellar" },
];
