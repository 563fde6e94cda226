import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/results", title: () => w.places.results, load: () => import("./ResultsPage.svelte"), place: "results", wide: true },
];
