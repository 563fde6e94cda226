import { holdsStock } from "../../app/form/lot-options.ts";
import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/plant",
    title: () => "Plant",
    load: () => import("./PlantPage.svelte"),
    place: "todo",
    anew: true,
    start: { from: ["farm", "crate", "lot"], label: () => "Plant", order: 80, fits: holdsStock },
    corrects: ["planted"],
  },
];
