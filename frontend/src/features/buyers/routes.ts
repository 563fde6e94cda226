import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  { path: "/buyers", title: () => "Buyers", load: () => import("./BuyersPage.svelte"), place: "phone", wide: true },
  { path: "/buyers/:buyer", title: () => "Buyer", load: () => import("./BuyerPage.svelte"), place: "phone" },
  { path: "/sales", title: () => "Sales", load: () => import("./SalesPage.svelte"), place: "phone", wide: true, anew: true },
  { path: "/prices", title: () => "Prices", load: () => import("./PricesPage.svelte"), place: "phone", wide: true },
];
