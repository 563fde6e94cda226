/**
 * Every screen. A feature has a file routes.ts that exports `routes: Screen[]`;
 * taking the folder away takes its screens away.
 */
import type { Screen } from "./screen.ts";
import { offerScreens } from "./starts.ts";

const found = import.meta.glob<Screen[]>("../features/*/routes.ts", { eager: true, import: "routes" });

const kit: Screen[] = import.meta.env.DEV
  ? [{ path: "/kit", title: () => "Kit", load: () => import("./kit/KitPage.svelte"), place: "phone", open: true }]
  : [];

export const screens: Screen[] = [...Object.values(found).flat(), ...kit];

offerScreens(screens);
