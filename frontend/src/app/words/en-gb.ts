import { enUs, type Words } from "./en-us.ts";

/** Only what a British grower says otherwise. */
export const enGb: Words = {
  ...enUs,
  signs: { ...enUs.signs, mould_wiped: "Mould wiped" },
  ways: { ...enUs.ways, bin: "Bin" },
  placeSorts: { ...enUs.placeSorts, cooler: "cold store" },
  stages: { ...enUs.stages, drying: "drying off" },
  dig: "Lift",
  dug: "lifted",
  cure: "Dry off",
  cured: "dried off",
  curing: "drying off",
  plasticWrap: "cling film",
  pottingMix: "compost",
  mold: "mould",
  sulfur: "sulphur",
  color: "colour",
  trash: "bin",
  cooler: "cold store",
  wakeUp: "Start into growth",
};
