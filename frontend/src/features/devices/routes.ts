import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/phone/devices", title: () => "Phones and browsers", load: () => import("./DevicesPage.svelte"), place: "phone", wide: true },
  { path: "/phone/devices/:device", title: () => "Phone", load: () => import("./DevicePage.svelte"), place: "phone" },
  { path: "/phone/devices/:device/redo", title: () => "Crates to look at again", load: () => import("./RedoPage.svelte"), place: "phone" },
  { path: "/phone/pair", title: () => "Pair a phone", load: () => import("./PairPage.svelte"), place: "phone", anew: true },
];
