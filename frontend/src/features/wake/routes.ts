import { holdsStock } from "../../app/form/lot-options.ts";
import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  {
    path: "/wake",
    title: () => w.wakeUp,
    load: () => import("./WakePage.svelte"),
    place: "todo",
    anew: true,
    start: { from: ["farm", "crate", "lot"], label: () => w.wakeUp, order: 75, fits: holdsStock },
    corrects: ["woken"],
  },
];
