import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/round",
    title: () => "Round",
    load: () => import("./RoundPage.svelte"),
    place: "todo",
    mode: "cellar",
    start: { from: ["farm"], label: () => "Check round", order: 60 },
  },
];
