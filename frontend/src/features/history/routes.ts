import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/trace/:lot", title: () => "Trace", load: () => import("./TracePage.svelte"), place: "results" },
];
