import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/phone", title: () => w.places.phone, load: () => import("./PhonePage.svelte"), place: "phone" },
  { path: "/phone/people", title: () => "People and phones", load: () => import("./PeoplePage.svelte"), place: "phone" },
  { path: "/phone/farm", title: () => "Settings of the farm", load: () => import("./FarmPage.svelte"), place: "phone" },
  { path: "/phone/farms", title: () => "Farms", load: () => import("./SignIn.svelte"), place: "phone", open: true },
  { path: "/pair/:code", title: () => "Sign in", load: () => import("./SignIn.svelte"), place: "phone", open: true },
  { path: "/help", title: () => "Help", load: () => import("./HelpPage.svelte"), place: "phone", open: true },
];
