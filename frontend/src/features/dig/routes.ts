import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  {
    path: "/dig",
    title: () => w.dig,
    load: () => import("./DigPage.svelte"),
    place: "todo",
    anew: true,
    start: { from: ["farm"], label: () => w.dig, order: 20 },
    corrects: ["dug"],
  },
];
