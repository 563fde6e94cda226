import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/found",
    title: () => "Found",
    load: () => import("./FoundPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["farm", "crate"], label: () => "Found", order: 70 },
    corrects: ["found"],
  },
];
