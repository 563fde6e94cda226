import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/recount",
    title: () => "Recount",
    load: () => import("./RecountPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["crate", "lot"], label: () => "Recount", order: 60 },
    corrects: ["counted"],
  },
];
