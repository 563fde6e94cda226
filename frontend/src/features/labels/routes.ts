import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/labels", title: () => "Labels", load: () => import("./LabelsPage.svelte"), place: "stock", wide: true },
];
