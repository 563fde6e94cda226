/** The farms installed on this device, and the one that is open. */
import { FarmStore } from "../store/farm-store.ts";
import { MetaStore } from "../store/meta-store.ts";
import type { FarmRow } from "../store/rows.ts";
import { LiveSession } from "./farm-session.ts";
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
    await this.meta.put(row);
    this.rows = await this.meta.list();
    return this.enter(row);
  }

  open(farmId: string): Promise<FarmSession> {
    const row = this.rows.find((one) => one.id === farmId);
    if (!row) return Promise.reject(new Error(`farm ${farmId} is not on this device`));
    return this.enter(row);
  }

  async signOut(farmId: string): Promise<void> {
    const unsent = await this.unsent(farmId);
    if (unsent > 0) throw new SignOutRefused(unsent);
    if (this.session?.farm.id === farmId) {
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

  private async unsent(farmId: string): Promise<number> {
    const store = new FarmStore(farmId, this.around.seams);
    try {
      const { saved, sent, stuck } = await store.counts();
      return saved + sent + stuck;
    } finally {
      store.close();
    }
  }

  private async enter(row: FarmRow): Promise<LiveSession> {
    this.session?.close();
    this.session = null;
    const session = await LiveSession.open(row, this.around, () => this.left(row.id));
    this.session = session;
    await this.meta.setCurrent(row.id);
    this.tell();
    void this.askWhoIsWho(session);
    return session;
  }

  /** Names and roles may have changed; without an answer the old ones stay. */
  private async askWhoIsWho(session: LiveSession): Promise<void> {
    try {
      const told = await session.api<Omit<EnrolAnswer, "token">>("/api/farm/");
      if (told?.farm?.id !== session.farm.id || this.session !== session) return;
      const { farm, device, member, members } = told;
      const row = { id: farm.id, token: session.token, farm: { ...farm, as_of: farm.as_of || null }, device, member, members };
      session.take(row);
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
