import { holdsStock } from "../../app/form/lot-options.ts";
import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/out",
    title: () => "Went out",
    load: () => import("./OutPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["farm", "crate", "lot"], label: () => "Went out", order: 40, fits: holdsStock },
    corrects: ["gone_out"],
  },
];
