/** Process ids, a group of processes as a negative one, and children of `parent` by their command line. */
export interface Whom {
  pids: number[];
  parent?: number;
  /** A part of their command line; "" is in each. */
  named?: string;
}

/** When the farm's computer is killed: in which push, and how far into it. */
export interface Plan {
  whom: Whom;
  /** In which push that begins from now on, of any phone; the first is 1. */
  push: number;
  /**
   * upload: when this share of the request is out. work: all of it is, and this share of the time that
   * pushes usually take has gone by. answer: the first of the answer has come.
   */
  at: "upload" | "work" | "answer";
  /** In [0, 1). */
  share: number;
}

/** What the kill met. */
export interface Killing {
  at: Plan["at"];
  /** Pushes that were open when it fell. */
  open: number;
  /** Of those, the ones that never got their answer. */
  interrupted: number;
}
