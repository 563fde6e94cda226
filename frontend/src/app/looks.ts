export const LOOKS = ["top", "some", "all"] as const;
/** How far a check went: on top, some of it, all of it. */
export type Look = (typeof LOOKS)[number];
