import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/phone/people", title: () => "People", load: () => import("./PeoplePage.svelte"), place: "phone" },
  { path: "/phone/people/may", title: () => "What each may do", load: () => import("./MayPage.svelte"), place: "phone", wide: true },
  { path: "/phone/people/:member", title: () => "Person", load: () => import("./PersonPage.svelte"), place: "phone" },
];
