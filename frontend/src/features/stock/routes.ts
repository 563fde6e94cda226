import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  { path: "/stock", title: () => w.places.stock, load: () => import("./StockPage.svelte"), place: "stock", wide: true },
  { path: "/crate/:crate", title: () => "Crate", load: () => import("./CratePage.svelte"), place: "stock", wide: true },
  { path: "/lot/:lot", title: () => "Batch", load: () => import("./LotPage.svelte"), place: "stock", wide: true },
  { path: "/variety/:variety", title: () => "Variety", load: () => import("./VarietyPage.svelte"), place: "stock", wide: true },
  { path: "/place/:place", title: () => "Place", load: () => import("./PlacePage.svelte"), place: "stock", wide: true },
  { path: "/t/:code", title: () => "Label", load: () => import("./CodePage.svelte"), place: "stock" },
  // A QR code may hold an address: the farm's public name and the code.
  { path: "/:code", title: () => "Label", load: () => import("./CodePage.svelte"), place: "stock" },
];
