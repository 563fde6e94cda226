import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/phone/farms", title: () => "Farms", load: () => import("./SignIn.svelte"), place: "phone", open: true },
  { path: "/pair/:code", title: () => "Sign in", load: () => import("./SignIn.svelte"), place: "phone", open: true },
  { path: "/phone/password", title: () => "Your password", load: () => import("./PasswordPage.svelte"), place: "phone", open: true },
];
