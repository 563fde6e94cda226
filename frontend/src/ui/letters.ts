/**
 * Words that came from people, made fit to stand among our own words and figures.
 *
 * Source: Unicode Standard Annex 9 (bidirectional text). An override or an isolate that nobody ends
 * would turn round the figures beside a name; a right-to-left name without an isolate takes the
 * number that follows it to its other side.
 */
const TURNING = /[\u202a-\u202e]/g;
const ISOLATES = /[\u2066-\u2069]/;
const PILED = /(\p{M}{4})\p{M}+/gu;
/** Longer than any word a grower writes, and not an address of ours, which people copy. */
const ENDLESS = /(?<![^\s\u200b])(?!https?:)[^\s\u200b]{25,}/gu;
const PIECE = /(?:\P{M}[\p{M}\u200d\ufe0f]*){1,10}|\p{M}+/gu;
const MAY_BREAK = "\u200b";
const FIRST_STRONG = "\u2068";
const POP = "\u2069";
/** Letters and marks of scripts that run from right to left, and the marks that say so. */
const FROM_THE_RIGHT = /[\u0590-\u08ff\u200f\ufb1d-\ufdff\ufe70-\ufeff\u{10800}-\u{10fff}\u{1e800}-\u{1efff}]/u;

/**
 * The text without what would turn its surroundings round, with at most four marks on a letter, and
 * with places to break in a word of 25 letters or more: a row then keeps its figure whole beside it.
 * Isolates that end where they should stay. What needs nothing done comes back as it is.
 */
export function tame(text: string): string {
  let told = text.replace(TURNING, "").replace(PILED, "$1");
  if (ISOLATES.test(told)) told = balanced(told);
  return told.replace(ENDLESS, (word) => (word.match(PIECE) ?? [word]).join(MAY_BREAK));
}

/** A name that keeps its own direction to itself. Names that run as we do come back as they are. */
export function isolated(name: string): string {
  const told = tame(name);
  return FROM_THE_RIGHT.test(told) || ISOLATES.test(told) ? FIRST_STRONG + told + POP : told;
}

/** Without isolates that nobody ends, and ends of none. */
function balanced(text: string): string {
  const open: number[] = [];
  const dropped = new Set<number>();
  [...text].forEach((letter, at) => {
    if (letter === POP) {
      if (open.pop() === undefined) dropped.add(at);
    } else if (ISOLATES.test(letter)) open.push(at);
  });
  for (const at of open) dropped.add(at);
  return [...text].filter((_, at) => !dropped.has(at)).join("");
}

/** Everything written below this node is tame, also what is written later. Gives back how to stop. */
export function keepTame(root: Node): () => void {
  const see = (node: Node): void => {
    if (node instanceof Text) {
      const told = tame(node.data);
      if (told !== node.data) node.data = told;
      return;
    }
    const walker = document.createTreeWalker(node, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) see(walker.currentNode);
  };
  see(root);
  const watch = new MutationObserver((changes) => {
    for (const change of changes) {
      if (change.type === "characterData") see(change.target);
      else change.addedNodes.forEach(see);
    }
  });
  watch.observe(root, { childList: true, characterData: true, subtree: true });
  return () => watch.disconnect();
}
