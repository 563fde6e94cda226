/** A lot's page: its balance by account, what it is, where it lies, and what contradicts itself in it. */
import { blankTable, lotIds, lotLines, sumOf, type Act, type SeenLine } from "./acts.ts";
import { Book } from "./book.ts";
import type { Emptying, Standing } from "./crates.ts";
import { compareKeys } from "./entries.ts";
import { births, placementOf, type Birth } from "./facts.ts";
import { IN, postings } from "./ledger.ts";
import { problem, type Found } from "./problems.ts";
import type { LotStay, Whereabouts } from "./stays.ts";
import type { Curing, Lot, Posting, Problem, Stay, Woken } from "./state.ts";

/** What a lot's page needs to know of other things. */
export interface Ties {
  variety: string;
  unit: string;
  whereabouts: Whereabouts;
  standings: (crate: string) => readonly Standing[];
  emptyings: (crate: string) => readonly Emptying[];
  code: string;
  crateOfCode: (code: string) => string;
}

export interface ReadLot {
  page: Lot;
  rows: Map<string, Posting>;
  problems: Found;
}

const COUNT_DOUBTS = ["check_disagrees", "counts_differ", "emptied_with_stock"];

/** Page, postings and problems of a lot from its own entries in order. */
export function readLot(lot: string, acts: readonly Act[], ties: Ties): ReadLot {
  const book = new Book(lot, ties.unit, blank(ties));
  for (const act of acts) read(book, act, ties);
  addUp(book);
  book.page.container = ties.whereabouts.container;
  book.page.stays = ties.whereabouts.stays.flatMap((stay) => stayRows(stay, ties.standings(stay.crate)));
  const problems = new Map<string, Problem>();
  for (const { key, found } of book.doubts.values()) problems.set(key, found);
  addFinalProblems(problems, book, acts);
  addLeftBehind(problems, book, ties);
  return { page: book.page, rows: book.rows, problems };
}

function blank(ties: Ties): Lot {
  return {
    variety: ties.variety, unit: ties.unit, eyes: "", grade: "", born_on: "", born_by: "",
    parents: [], container: "", balance: 0, about: 0, accounts: blankTable(), thrown: blankTable(),
    out: blankTable(), code: ties.code, packed_on: "", packed_count: -1, packed_by: "", all_on: "",
    all_count: -1, looked_on: "", look: "", counted_on: "", counted: -1, curing: {}, woken: {},
    quarantined: 0, flags: blankTable(), stays: [],
  };
}

function read(book: Book, act: Act, ties: Ties): void {
  const before = book.balance;
  postings(act).forEach((line, i) => {
    if (line.lot === book.lot) book.post(act, i, line);
  });
  for (const birth of births(act)) if (birth.lot === book.lot) readBirth(book, act, birth);
  const put = placementOf(act, book.lot);
  if (put !== undefined) {
    book.container = put;
    book.settle("lot_elsewhere");
  }
  READERS[act.kind]?.(book, act, before, ties);
}

function readBirth(book: Book, act: Act, birth: Birth): void {
  const { page } = book;
  if (book.births.length === 0) {
    page.eyes = birth.eyes;
    page.grade = birth.grade;
    page.born_on = act.on;
    page.born_by = act.sha256;
    page.about = birth.about ? 1 : 0;
  }
  book.births.push({ act, birth });
  const known = new Set(page.parents);
  // Twice in one entry stays twice: only earlier entries' parents are known.
  page.parents.push(...birth.parents.filter((parent) => !known.has(parent)));
}

type Reader = (book: Book, act: Act, before: number, ties: Ties) => void;

const readPacked: Reader = (book, act) => {
  const lines = lotLines(act.body).filter((line) => line.lot === book.lot);
  if (lines.length === 0) return;
  const { page } = book;
  page.packed_on = act.on;
  page.packed_count = lines.reduce((sum, line) => sum + line.count, 0);
  page.packed_by = act.sha256;
  page.about = lines.some((line) => line.about === true) ? 1 : 0;
};

const readCounted: Reader = (book, act, before) => {
  const count = act.body.count ?? 0;
  const other = book.lastCount;
  const recount = book.doubts.has("counts_differ");
  book.settle(...COUNT_DOUBTS);
  if (!recount && other && other.on === act.on && other.device !== act.device && count !== before) {
    const both = [other.sha256, act.sha256];
    const found = problem("counts_differ", both, {
      outs: ["recount", "void", "accept"],
      voidable: both,
      facts: { lot: book.lot, first: other.body.count ?? 0, second: count },
    });
    book.doubt("counts_differ", `counts_differ:${book.lot}:${other.sha256}:${act.sha256}`, found);
  }
  book.postDifference(act, 0, count - before, "counted");
  book.page.counted_on = act.on;
  book.page.counted = count;
  book.page.about = act.body.about === true ? 1 : 0;
  book.lastCount = act;
  book.basis = act.key;
};

const readEmptied: Reader = (book, act, before) => {
  const listed = lotIds(act.body);
  if (!listed.includes(book.lot)) return;
  if (before > 0) {
    const { key, found } = emptiedDoubt(book.lot, emptyingOf(act), before, ["void", "recount", "accept"]);
    book.doubt("emptied_with_stock", key, found);
  }
  book.postDifference(act, listed.indexOf(book.lot), -before, "emptied");
  book.lastCount = null;
  book.basis = act.key;
};

function emptyingOf({ sha256, key, body }: Act): Emptying {
  return { sha256, key, crate: body.crate ?? "" };
}

function emptiedDoubt(lot: string, { sha256, crate }: Emptying, count: number, outs: string[]): { key: string; found: Problem } {
  return {
    key: `emptied_with_stock:${lot}:${sha256}`,
    found: problem("emptied_with_stock", [sha256], { outs, voidable: [sha256], facts: { lot, crate, count } }),
  };
}

const readChecked: Reader = (book, act, before, ties) => {
  const crate = act.body.crate || ties.crateOfCode(act.body.code ?? "");
  for (const line of act.body.lines ?? []) {
    if (line.lot !== book.lot) continue;
    book.page.looked_on = act.on;
    book.page.look = act.body.look ?? "";
    noteWhere(book, act, crate);
    if (line.all === true && line.seen !== undefined) readFullLook(book, act, line, before);
  }
};

function noteWhere(book: Book, act: Act, crate: string): void {
  if (crate === "" || crate === book.container) {
    book.settle("lot_elsewhere");
    return;
  }
  const found = problem("lot_elsewhere", [act.sha256], {
    outs: book.container === "" ? ["move_here", "void"] : ["move_here", "move_back", "void"],
    voidable: [act.sha256],
    facts: { lot: book.lot, crate, container: book.container },
  });
  book.doubt("lot_elsewhere", `lot_elsewhere:${book.lot}:${act.sha256}`, found);
}

function readFullLook(book: Book, act: Act, line: SeenLine, before: number): void {
  const seen = line.seen ?? 0;
  book.page.all_on = act.on;
  book.page.all_count = Math.max(0, seen - sumOf(line.removed));
  book.settle("check_disagrees");
  if (seen === before) {
    book.page.about = 0;
    return;
  }
  const twice = removers(book, act.sha256).filter((sha) => removedBy(book, sha) === seen - before);
  const found = problem("check_disagrees", [...twice, act.sha256], {
    outs: ["recount", "void", "accept"],
    voidable: [...twice, act.sha256],
    facts: { lot: book.lot, seen, expected: before },
  });
  book.doubt("check_disagrees", `check_disagrees:${book.lot}:${act.sha256}`, found);
}

/** Earlier checks that threw some of this lot out since it was last counted. */
function removers(book: Book, otherThan: string): string[] {
  const found = new Set<string>();
  for (const { stage, record } of book.rows.values()) {
    if (stage === "store" && record !== otherThan && isSinceBasis(book, record)) found.add(record);
  }
  return [...found].sort();
}

function removedBy(book: Book, sha: string): number {
  let removed = 0;
  for (const row of book.ownRows()) {
    if (row.record === sha && row.account === "thrown_out") removed -= row.amount;
  }
  return removed;
}

const readCuring: Reader = (book, act) => {
  const { body, kind, on } = act;
  if (!lotIds(body).includes(book.lot)) return;
  if (kind === "curing_started") {
    book.page.curing = {
      from: on, to: "", place: body.place ?? "", washed: yesNoUnsaid(body.washed), cut: yesNoUnsaid(body.cut),
    };
  } else {
    const unsaid: Curing = { from: "", to: "", place: "", washed: -1, cut: -1 };
    book.page.curing = { ...unsaid, ...book.page.curing, to: on };
  }
};

function yesNoUnsaid(said: boolean | undefined): number {
  return said === undefined ? -1 : said ? 1 : 0;
}

const readWoken: Reader = (book, { body, on }) => {
  if (body.lot !== book.lot) return;
  if (body.back) {
    book.page.woken = {};
    return;
  }
  const earlier: Partial<Woken> = book.page.woken;
  book.page.woken = {
    on: earlier.on ?? on,
    place: body.place ?? earlier.place ?? "",
    showing: body.showing ?? earlier.showing ?? -1,
  };
};

const READERS: Readonly<Record<string, Reader>> = {
  packed: readPacked,
  counted: readCounted,
  emptied: readEmptied,
  checked: readChecked,
  curing_started: readCuring,
  curing_ended: readCuring,
  woken: readWoken,
  returned: (book, { body }) => {
    if (body.lot === book.lot) book.page.quarantined = 1;
  },
  moved: (book, { body }) => {
    if (body.lot === book.lot) book.page.quarantined = 0;
  },
  flagged: (book, { body }) => {
    if (body.target === "lot" && body.id === book.lot) book.page.flags[body.flag ?? ""] = body.state ?? "";
  },
};

function addUp(book: Book): void {
  const { page } = book;
  page.balance = book.balance;
  for (const { account, amount, stage, cause, how } of book.ownRows()) {
    const signed = IN.has(account) || account === "difference" ? amount : -amount;
    page.accounts[account] = (page.accounts[account] ?? 0) + signed;
    if (account === "thrown_out") {
      const byCause = (page.thrown[stage] ??= blankTable());
      byCause[cause] = (byCause[cause] ?? 0) - amount;
    }
    if (account === "gone_out") page.out[how] = (page.out[how] ?? 0) - amount;
  }
}

function addFinalProblems(problems: Map<string, Problem>, book: Book, acts: readonly Act[]): void {
  const { lot, balance } = book;
  const [first] = acts;
  if (first && book.births.length === 0) {
    const facts = { lot, count: Math.max(0, -balance) };
    problems.set(`no_origin:${lot}`, problem("no_origin", [first.sha256], { outs: ["found"], facts }));
  }
  if (balance < 0) problems.set(`negative_balance:${lot}:${balance}`, negative(book));
}

/**
 * The crate was emptied and this lot not named: the book still has it in there. Accepting is no
 * way out: nothing was posted, so only a count or a void makes the book true.
 */
function addLeftBehind(problems: Map<string, Problem>, book: Book, ties: Ties): void {
  const { container, placedBy } = ties.whereabouts;
  if (book.balance <= 0 || container === "") return;
  for (const emptying of ties.emptyings(container)) {
    if ([placedBy, book.basis].some((known) => known !== null && compareKeys(emptying.key, known) <= 0)) continue;
    const { key, found } = emptiedDoubt(book.lot, emptying, book.balance, ["void", "recount"]);
    problems.set(key, found);
  }
}

function negative(book: Book): Problem {
  const net = new Map<string, number>();
  for (const row of book.ownRows()) net.set(row.record, (net.get(row.record) ?? 0) + row.amount);
  const takers = [...net].filter(([, amount]) => amount < 0);
  const voidable = takers
    .filter(([sha, amount]) => amount <= book.balance && isSinceBasis(book, sha))
    .map(([sha]) => sha);
  const outs = ["there_were_more", "recount"];
  if (voidable.length > 0) outs.push("void");
  const facts = { lot: book.lot, count: book.balance };
  return problem("negative_balance", takers.map(([sha]) => sha), { outs, voidable, facts });
}

function isSinceBasis(book: Book, sha: string): boolean {
  const key = book.order.get(sha);
  return book.basis === null || (key !== undefined && compareKeys(key, book.basis) > 0);
}

/** A stay cut at every change of the crate's place, as plain dates. */
function stayRows(stay: LotStay, places: readonly Standing[]): Stay[] {
  const isLater = (one: Standing): boolean => compareKeys(one.since, stay.since) > 0;
  const later = places.filter(
    (one) => isLater(one) && (stay.until === null || compareKeys(one.since, stay.until) < 0),
  );
  const nowhere = { since: stay.since, on: stay.since[0], place: "", position: "" };
  const cuts = [places.findLast((one) => !isLater(one)) ?? nowhere, ...later];
  return cuts.map((cut, i) => {
    const next = cuts[i + 1];
    return {
      crate: stay.crate,
      place: cut.place,
      position: cut.position,
      method: stay.method,
      moisture: stay.moisture,
      from: i === 0 ? stay.since[0] : cut.on,
      to: next?.on ?? stay.until?.[0] ?? "",
      packed_on: stay.packed_on,
      first_crate: stay.first_crate,
      entered: i === 0 ? stay.entered : "moved",
      ended: next === undefined ? stay.ended : "moved",
    };
  });
}
