/** A phone on the farm: the app's own session and store on a disk that outlives the app. */
import { createHash } from "node:crypto";
import { canonical } from "../../src/core/stock/canonical.ts";
import { FarmStore } from "../../src/store/farm-store.ts";
import { freshDisk, type Seams } from "../../src/store/testing/fake.ts";
import { openSessions, type EnrolAnswer, type FarmSession } from "../../src/sync/session.ts";
import { browserSurroundings } from "../../src/sync/surroundings.ts";
import type { Line } from "./line.ts";
import { chance, Story } from "./story.ts";

/** Somebody stops writing when so many entries wait, and goes on when the farm answers. */
const MOST_WAITING = 120;
const ROUNDS = 30;

export interface Report {
  device: string;
  /** Keys of all that was shown as saved. */
  shown: string[];
  unsettled: number;
  stuck: number;
  cursor: { seq: number; chain: string };
  /** SHA-256 of the folded stock in its canonical form. */
  stock: string;
  restarts: number;
}

export class Phone {
  private readonly disk: Seams = freshDisk();
  private readonly shown: string[] = [];
  private readonly random: () => number;
  private readonly story: Story;
  private session!: FarmSession;
  private restarts = 0;

  constructor(
    private readonly line: Line,
    readonly enrolled: EnrolAnswer,
    seed: number,
  ) {
    this.random = chance(seed);
    this.story = new Story(() => this.session, this.random);
  }

  async join(): Promise<void> {
    const sessions = await openSessions(this.around());
    this.session = await sessions.enrol(this.enrolled);
  }

  /** The app is closed and opened again. */
  async restart(): Promise<void> {
    this.session.close();
    const sessions = await openSessions(this.around());
    if (!sessions.current) throw new Error("the farm is gone from this phone");
    this.session = sessions.current;
    this.restarts += 1;
  }

  /** Writes a handful of entries down and has them sent, whether that works or not. */
  async work(): Promise<void> {
    if (this.session.unsettled().length < MOST_WAITING) await this.write(1 + Math.floor(this.random() * 30));
    await this.session.sync.now();
  }

  /** Sends what is left and fetches the rest; gives up when that takes too many rounds. */
  async settle(): Promise<void> {
    for (let rounds = 0; rounds < ROUNDS; rounds += 1) {
      await this.session.sync.now();
      if (this.session.unsettled().length === 0) return;
    }
  }

  async fetch(): Promise<void> {
    await this.session.sync.now();
  }

  async report(): Promise<Report> {
    const store = new FarmStore(this.enrolled.farm.id, this.disk);
    try {
      return {
        device: this.enrolled.device.id,
        shown: this.shown,
        unsettled: this.session.unsettled().length,
        stuck: this.session.stuck().length,
        cursor: await store.cursor(),
        stock: createHash("sha256").update(canonical(this.session.state)).digest("hex"),
        restarts: this.restarts,
      };
    } finally {
      store.close();
    }
  }

  private async write(acts: number): Promise<void> {
    for (let act = 0; act < acts; act += 1) {
      const saved = await this.session.record(...this.story.act());
      this.story.wrote(saved);
      this.shown.push(...saved.map((one) => one.sha));
    }
  }

  private around() {
    const { locks } = globalThis.navigator;
    const request = (name: string, options: LockOptions, act: LockGrantedCallback<unknown>) =>
      locks.request(`${this.enrolled.device.id} ${name}`, options, act);
    return {
      ...browserSurroundings("kill test"),
      seams: this.disk,
      // One phone's lock is not its neighbour's, though all of them run in this process.
      locks: { request } as unknown as LockManager,
      door: (token: () => string) => this.line.door(token),
      neighbours: () => ({ tell: () => undefined, close: () => undefined }),
      goodMoments: () => () => undefined,
      persist: () => Promise.resolve(),
    };
  }
}
