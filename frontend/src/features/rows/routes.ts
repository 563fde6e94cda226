import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/rows/:table", title: () => "Names and settings", load: () => import("./RowsPage.svelte"), place: "stock", wide: true },
  { path: "/rows/:table/:row", title: () => "Names and settings", load: () => import("./RowPage.svelte"), place: "stock" },
];
