import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/move",
    title: () => "Move",
    load: () => import("./MovePage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["farm", "crate", "lot"], label: () => "Move", order: 30 },
    corrects: ["moved"],
  },
];
