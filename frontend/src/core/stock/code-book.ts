/** Which thing carries which label code: the first that got it owns it. */
import type { Library } from "../shelf/library.ts";
import type { Act } from "./acts.ts";
import type { ActIndex } from "./act-index.ts";
import { compareKeys, compareTexts } from "./entries.ts";
import { codes } from "./facts.ts";
import { NearPages } from "./near-pages.ts";
import { problem, type Found } from "./problems.ts";
import type { CodeState, Problem } from "./state.ts";
import { thingOf, type Thing } from "./things.ts";

interface Given {
  act: Act;
  target: string;
  id: string;
}

export class CodeBook {
  private readonly owners: NearPages<CodeState>;
  private readonly codesOf = new Map<Thing, Set<string>>();

  constructor(
    private readonly index: ActIndex,
    library: Library,
  ) {
    this.owners = new NearPages("codes", library);
    this.owners.fetch();
    for (const [code, { target, id }] of Object.entries(this.codes)) this.own(code, thingOf(target, id));
  }

  get codes(): Record<string, CodeState> {
    return this.owners.pages;
  }

  private own(code: string, thing: Thing): void {
    this.codesOf.set(thing, (this.codesOf.get(thing) ?? new Set()).add(code));
  }

  /** The crate that carries a code, or "". */
  crateOfCode(code: string): string {
    const owner = this.codes[code];
    return owner?.target === "crate" ? owner.id : "";
  }

  /** The crate a check belongs to, or "". */
  crateOf(act: Act): string {
    return act.body.crate || this.crateOfCode(act.body.code ?? "");
  }

  /** The code that a thing got first, or "". */
  codeOf(sort: string, key: string): string {
    let best = "";
    for (const code of this.codesOf.get(thingOf(sort, key)) ?? []) {
      if (best === "" || this.isEarlier(code, best)) best = code;
    }
    return best;
  }

  private isEarlier(a: string, b: string): boolean {
    const [first, second] = [this.giver(a), this.giver(b)];
    if (!first || !second) return false;
    return (compareKeys(first.key, second.key) || compareTexts(a, b)) < 0;
  }

  private giver(code: string): Act | undefined {
    return this.index.act(this.codes[code]?.by ?? "");
  }

  /** Works a code out anew; returns its problems, and adds the things and acts to be read again. */
  fold(code: string, again: Set<Thing>, actsAgain: Set<string>): Found {
    const acts = this.index.of("code", code);
    const given = acts.flatMap((act) =>
      codes(act)
        .filter((one) => one.code === code)
        .map(({ target, id }) => ({ act, target, id })),
    );
    this.setOwner(code, given[0], again, actsAgain);
    const found = codeProblems(code, given);
    const waiting = acts.filter((act) => act.kind === "checked").map((act) => act.sha256);
    if (waiting.length > 0 && this.crateOfCode(code) === "") {
      const single = waiting.length === 1;
      const outs = [...(single ? ["void"] : []), given.length > 0 ? "accept" : "label"];
      const parts = { outs, voidable: single ? waiting : [], facts: { label: code } };
      found.set(`unknown_code:${code}`, problem("unknown_code", waiting, parts));
    }
    return found;
  }

  private setOwner(code: string, first: Given | undefined, again: Set<Thing>, actsAgain: Set<string>): void {
    const old = this.codes[code];
    this.owners.put(code, first && { target: first.target, id: first.id, by: first.act.sha256 });
    if (old !== undefined) {
      const thing = thingOf(old.target, old.id);
      this.codesOf.get(thing)?.delete(code);
      again.add(thing);
    }
    if (first !== undefined) {
      const thing = thingOf(first.target, first.id);
      this.own(code, thing);
      again.add(thing);
    }
    for (const act of [...this.index.of("code", code)]) {
      if (act.kind === "checked" && act.body.crate === undefined) this.attach(act, old?.id ?? "", again, actsAgain);
    }
  }

  /** A check written under a code belongs to the crate that carries the code. */
  private attach(act: Act, old: string, again: Set<Thing>, actsAgain: Set<string>): void {
    const crate = this.crateOf(act);
    const before = thingOf("crate", old);
    if (old !== "" && old !== crate) this.index.detach(act, before);
    if (crate !== "") this.index.attach(act, thingOf("crate", crate));
    for (const thing of this.index.thingsAbout(act)) again.add(thing);
    actsAgain.add(act.sha256);
    if (old !== "") again.add(before);
  }
}

function codeProblems(code: string, given: readonly Given[]): Map<string, Problem> {
  const [first] = given;
  const others = given.filter((one) => one.target !== first?.target || one.id !== first.id);
  if (first === undefined || others.length === 0) return new Map();
  const labels = others.filter((one) => one.act.kind === "labelled").map((one) => one.act.sha256);
  const single = others.length === 1 && labels.length > 0;
  const records = [first.act.sha256, ...others.map((one) => one.act.sha256)];
  const found = problem("code_on_two", records, {
    outs: single ? ["void", "accept"] : ["accept"],
    voidable: single ? labels : [],
    facts: { label: code },
  });
  return new Map([[`code_on_two:${code}`, found]]);
}
