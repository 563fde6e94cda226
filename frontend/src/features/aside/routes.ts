import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/aside", title: () => w.setAside, load: () => import("./AsidePage.svelte"), place: "todo", wide: true },
  { path: "/aside/:sha", title: () => w.setAside, load: () => import("./AsideEntryPage.svelte"), place: "todo", wide: true },
];
