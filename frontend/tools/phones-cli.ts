/**
 * Phones of one farm at work, for the tests that kill its computer under them.
 *
 * Reads JSON lines: first {"join": {address, seed, phones}} with what the server answered each phone
 * when it joined; then {"life": plan} each time the farm's computer runs (again), with the next kill or
 * null; at last {"settle": true}. Answers {"ready"}, {"killed": …} when a kill has fallen and nobody
 * waits for an answer any more, and {"report": …}.
 */
import { createInterface } from "node:readline";
import type { EnrolAnswer } from "../src/sync/session.ts";
import { Line } from "./phones/line.ts";
import { Phone } from "./phones/phone.ts";
import type { Killing, Plan } from "./phones/plan.ts";

interface Said {
  join?: { address: string; seed: number; phones: EnrolAnswer[] };
  life?: Plan | null;
  settle?: true;
}

/** Resolves when it has gone out. */
const tell = (what: object): Promise<void> =>
  new Promise((resolve) => process.stdout.write(`${JSON.stringify(what)}\n`, () => resolve()));

class Farm {
  private readonly line: Line;
  private readonly phones: Phone[];
  private working: Promise<unknown> = Promise.resolve();
  private lives = 0;
  private life = 0;

  constructor({ address, seed, phones }: NonNullable<Said["join"]>) {
    this.line = new Line(address, (what) => this.killed(what));
    this.phones = phones.map((enrolled, i) => new Phone(this.line, enrolled, seed + i));
  }

  async join(): Promise<void> {
    for (const phone of this.phones) await phone.join();
    await tell({ ready: this.phones.length });
  }

  /** The farm's computer runs: everybody works until it is killed. */
  async begin(plan: Plan | null): Promise<void> {
    await this.working;
    this.lives += 1;
    this.life = this.lives;
    // One of them was closed and is opened again on what it kept.
    await this.phones[this.lives % this.phones.length]?.restart();
    if (plan) this.line.aim(plan);
    this.working = Promise.all(this.phones.map((phone) => this.work(phone, this.lives)));
  }

  private async work(phone: Phone, life: number): Promise<void> {
    while (this.life === life) await phone.work();
    // Once more without the farm's computer: what is written in the meantime waits.
    await phone.work();
  }

  private killed(what: Killing): void {
    this.life = 0;
    void tell({ killed: what });
  }

  async settle(): Promise<void> {
    this.life = 0;
    await this.working;
    await Promise.all(this.phones.map((phone) => phone.settle()));
    for (const phone of this.phones) await phone.fetch();
    const reports = await Promise.all(this.phones.map((phone) => phone.report()));
    await tell({ report: { phones: reports, told: this.line.told, seen: this.line.seen } });
  }
}

let farm: Farm | undefined;
for await (const text of createInterface({ input: process.stdin })) {
  const said = JSON.parse(text) as Said;
  if (said.join) {
    farm = new Farm(said.join);
    await farm.join();
  }
  if (said.life !== undefined) await farm?.begin(said.life);
  if (said.settle) {
    await farm?.settle();
    break;
  }
}
process.exit(0);
