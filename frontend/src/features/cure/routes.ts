import type { Screen } from "../../app/screen.ts";
import { w } from "../../app/words/index.svelte.ts";

export const routes: Screen[] = [
  {
    path: "/cure",
    title: () => w.cure,
    load: () => import("./CurePage.svelte"),
    place: "todo",
    anew: true,
    start: {
      from: ["farm", "lot"],
      label: () => w.cure,
      order: 26,
      fits: (state, from, id) => from === "farm" || (state.lots[id]?.packed_on === "" && state.lots[id].balance > 0),
    },
    corrects: ["curing_started", "curing_ended"],
  },
];
