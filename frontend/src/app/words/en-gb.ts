import { enUs, type Words } from "./en-us.ts";

/** Only what a British grower says otherwise. */
export const enGb: Words = {
  ...enUs,
  signs: { ...enUs.signs, mould_wiped: "Mould wiped" },
  ways: { ...enUs.ways, bin: "Bin" },
  placeSorts: { ...enUs.placeSorts, cooler: "cold store" },
  dig: "Lift",
  dug: "lifted",
  plasticWrap: "cling film",
  pottingMix: "compost",
  mold: "mould",
  sulfur: "sulphur",
  color: "colour",
  trash: "bin",
  cooler: "cold store",
  wakeUp: "Start into growth",
};
