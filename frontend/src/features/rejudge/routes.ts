import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/rejudge",
    title: () => "Judge again",
    load: () => import("./RejudgePage.svelte"),
    place: "todo",
    anew: true,
    start: {
      from: ["farm", "lot", "crate"],
      label: () => "Judge again",
      order: 55,
      fits: (state, from, id) =>
        from === "farm" ||
        (from === "lot" ? [id] : (state.crates[id]?.lots ?? [])).some((lot) => state.lots[lot]?.eyes === "unsure" && state.lots[lot].balance > 0),
    },
    corrects: ["graded"],
  },
];
