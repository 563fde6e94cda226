import type { Screen } from "../../app/screen.ts";
import { holdsStock } from "../../app/form/lot-options.ts";

export const routes: Screen[] = [
  {
    path: "/split",
    title: () => "Split",
    load: () => import("./SplitPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["crate", "lot"], label: () => "Split", order: 50, fits: holdsStock },
    corrects: ["split"],
  },
];
