import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/todo", title: () => w.places.todo, load: () => import("./TodoPage.svelte"), place: "todo", wide: true },
];
