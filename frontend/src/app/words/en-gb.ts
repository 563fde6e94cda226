import { enUs, type Words } from "./en-us.ts";

/** Only what a British grower says otherwise. */
export const enGb: Words = {
  ...enUs,
  units: {
    ...enUs.units,
    tuber: ["tuber", "tubers"],
  },
  signs: { ...enUs.signs, mould_wiped: "Mould wiped" },
  ways: { ...enUs.ways, bin: "Bin" },
  placeSorts: { ...enUs.placeSorts, cooler: "cold store" },
  dig: "Lift",
  dug: "lifted",
  plasticWrap: "cling film",
  pottingMix: "compost",
  mold: "mould",
  color: "colour",
  trash: "bin",
  cooler: "cold store",
  wakeUp: "Start into growth",
};
