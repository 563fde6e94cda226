import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/first-run", title: () => "Write down crates", load: () => import("./FirstRunPage.svelte"), place: "todo" },
];
