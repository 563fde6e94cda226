/** The farms installed on this device, and the one that is open. */
import { FarmStore } from "../store/farm-store.ts";
import { MetaStore } from "../store/meta-store.ts";
import type { FarmRow } from "../store/rows.ts";
import { LiveSession } from "./farm-session.ts";
import { forgetPersonal, mayReadPersonal } from "./personal.ts";
import { SignOutRefused, type EnrolAnswer, type FarmSession, type SessionList } from "./session-types.ts";
import { browserSurroundings, type Surroundings } from "./surroundings.ts";

/** The build's name goes with each push; a stuck entry is tried again by another build. */
const APP = "winter-tally 0.1.0";

export async function openSessions(around: Surroundings = browserSurroundings(APP)): Promise<SessionList> {
  const sessions = new Sessions(around);
  await sessions.start();
  return sessions;
}

class Sessions implements SessionList {
  private readonly meta: MetaStore;
  private readonly listeners = new Set<() => void>();
  private rows: FarmRow[] = [];
  private session: LiveSession | null = null;
  private stopWatching: () => void = () => undefined;

  constructor(private readonly around: Surroundings) {
    this.meta = new MetaStore(around.seams);
  }

  async start(): Promise<void> {
    this.rows = await this.meta.list();
    const current = await this.meta.current();
    const row = this.rows.find((one) => one.id === current) ?? this.rows[0];
    if (row) await this.enter(row);
  }

  get list(): SessionList["list"] {
    return this.rows as unknown as SessionList["list"];
  }

  get current(): FarmSession | null {
    return this.session;
  }

  async enrol(answer: EnrolAnswer): Promise<FarmSession> {
    const { token, farm, device, member, members } = answer;
    const row: FarmRow = { id: farm.id, token, farm: { ...farm, as_of: farm.as_of || null }, device, member, members };
    const before = this.rows.find((one) => one.id === farm.id)?.member.id;
    await this.meta.put(row);
    this.rows = await this.meta.list();
    const session = await this.enter(row);
    // Paired for somebody else now: the last one at work is not who holds it.
    if (before !== undefined && before !== member.id) session.chooseAuthor(member.id);
    return session;
  }

  open(farmId: string): Promise<FarmSession> {
    const row = this.rows.find((one) => one.id === farmId);
    if (!row) return Promise.reject(new Error(`farm ${farmId} is not on this device`));
    return this.enter(row);
  }

  async signOut(farmId: string): Promise<void> {
    await this.erase(farmId, 0);
  }

  async erase(farmId: string, lost: number): Promise<void> {
    const unsent = await this.unsent(farmId);
    if (unsent !== lost) throw new SignOutRefused(unsent);
    if (this.session?.farm.id === farmId) {
      this.stopWatching();
      this.session.close();
      this.session = null;
    }
    await this.meta.remove(farmId);
    this.rows = await this.meta.list();
    this.tell();
  }

  subscribe(fn: () => void): () => void {
    this.listeners.add(fn);
    return () => this.listeners.delete(fn);
  }

  async unsent(farmId: string): Promise<number> {
    const store = new FarmStore(farmId, this.around.seams);
    try {
      const { saved, sent, stuck } = await store.counts();
      return saved + sent + stuck;
    } finally {
      store.close();
    }
  }

  private async enter(row: FarmRow): Promise<LiveSession> {
    this.stopWatching();
    this.session?.close();
    this.session = null;
    const session = await LiveSession.open(row, this.around, () => this.left(row.id));
    this.session = session;
    await this.meta.setCurrent(row.id);
    this.tell();
    this.watch(session);
    void this.askWhoIsWho(session);
    return session;
  }

  /** Names, roles and who still works here are asked for again after every round of the sync. */
  private watch(session: LiveSession): void {
    let known = session.sync.last_ok_at;
    let out = false;
    this.stopWatching = session.subscribe(() => {
      const { last_ok_at, phase } = session.sync;
      if (last_ok_at !== known) {
        known = last_ok_at;
        void this.askWhoIsWho(session);
      }
      if (phase === "signed-out" && !out) void forgetPersonal(session);
      out = phase === "signed-out";
    });
  }

  /** Names and roles may have changed; without an answer the old ones stay. */
  private async askWhoIsWho(session: LiveSession): Promise<void> {
    try {
      const told = await session.api<Omit<EnrolAnswer, "token">>("/api/farm/");
      if (told?.farm?.id !== session.farm.id || this.session !== session) return;
      if (!mayReadPersonal(told.member.role)) await forgetPersonal(session);
      const { farm, device, member, members } = told;
      const row = { id: farm.id, token: session.token, farm: { ...farm, as_of: farm.as_of || null }, device, member, members };
      if (JSON.stringify(row) === JSON.stringify(this.rows.find((one) => one.id === farm.id))) return;
      session.take(row);
      const atWork = members.find((one) => one.id === session.author);
      if (!atWork || atWork.active === false || atWork.erased) session.chooseAuthor(member.id);
      await this.meta.put(row);
      this.rows = await this.meta.list();
      this.tell();
    } catch {
      // Offline or signed out: said elsewhere.
    }
  }

  private left(farmId: string): void {
    if (this.session?.farm.id === farmId) this.tell();
  }

  private tell(): void {
    for (const fn of [...this.listeners]) fn();
  }
}
