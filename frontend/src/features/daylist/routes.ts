import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/days",
    title: () => "Day list",
    load: () => import("./DayPage.svelte"),
    place: "todo",
    start: { from: ["farm"], label: () => "Day list", order: 100 },
  },
  {
    path: "/correct/:sha",
    title: () => "Correct an entry",
    load: () => import("./CorrectPage.svelte"),
    place: "todo",
  },
];
