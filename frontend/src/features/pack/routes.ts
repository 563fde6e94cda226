import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/pack",
    title: () => "Pack",
    load: () => import("./PackPage.svelte"),
    place: "todo",
    mode: "cellar",
    anew: true,
    start: {
      from: ["farm", "crate", "lot"],
      label: () => "Pack",
      order: 28,
      fits: (state, from, id) =>
        from === "farm" ||
        (from === "lot"
          ? state.lots[id]?.packed_on === "" && state.lots[id].balance > 0
          : !(state.crates[id]?.lots ?? []).some((lot) => (state.lots[lot]?.balance ?? 0) > 0)),
    },
    corrects: ["packed"],
  },
];
