import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/phone", title: () => w.places.phone, load: () => import("./PhonePage.svelte"), place: "phone" },
  { path: "/phone/farm", title: () => "Settings of the farm", load: () => import("./FarmPage.svelte"), place: "phone" },
  { path: "/help", title: () => "Help", load: () => import("./HelpPage.svelte"), place: "phone", open: true },
];
