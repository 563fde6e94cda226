import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/doubts", title: () => w.doesntAddUp, load: () => import("./DoubtsPage.svelte"), place: "todo", wide: true },
  { path: "/doubts/:key", title: () => w.doesntAddUp, load: () => import("./DoubtPage.svelte"), place: "todo", wide: true },
];
