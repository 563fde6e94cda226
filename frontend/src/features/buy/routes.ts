import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/buy",
    title: () => "Bought",
    load: () => import("./BuyPage.svelte"),
    place: "stock",
    anew: true,
    start: { from: ["farm"], label: () => "Bought", order: 72 },
    corrects: ["bought"],
  },
];
