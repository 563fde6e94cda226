import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/empty",
    title: () => "Empty a crate",
    load: () => import("./EmptyPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["farm", "crate"], label: () => "Empty", order: 90 },
    corrects: ["emptied"],
  },
];
