import type { Screen } from "../../app/screen.ts";

export const routes: Screen[] = [
  {
    path: "/return",
    title: () => "Came back",
    load: () => import("./ReturnPage.svelte"),
    place: "stock",
    anew: true,
    start: {
      from: ["farm", "lot"],
      label: () => "Came back",
      order: 95,
      fits: (state, from, id) => from === "farm" || Object.keys(state.lots[id]?.out ?? {}).length > 0,
    },
    corrects: ["returned"],
  },
];
