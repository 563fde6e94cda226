import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/divide",
    title: () => "Divide",
    load: () => import("./DividePage.svelte"),
    place: "todo",
    anew: true,
    start: {
      from: ["farm", "lot", "crate"],
      label: () => "Divide",
      order: 24,
      fits: (state, from, id) =>
        from === "farm" ||
        (from === "lot" ? [id] : (state.crates[id]?.lots ?? [])).some((lot) => state.lots[lot]?.unit === "clump" && state.lots[lot].balance > 0),
    },
    corrects: ["divided"],
  },
];
