/**
 * The farm on this phone, for screens. `here.state` may be read in any $derived
 * or template and follows every change. The stock is changed in place, so a
 * $derived should end in a value, a list or a copy ({...lot}), not in the lot itself.
 */
import { lesserRole, mayWrite } from "../core/sync/rights.ts";
import type { StockState } from "../core/stock/state.ts";
import type { Kind, Role } from "../core/stock/kinds.ts";
import {
  openSessions,
  type Draft,
  type EnrolAnswer,
  type FarmSession,
  type LocalEntry,
  type Member,
  type Saved,
  type SessionList,
  type SyncState,
} from "../sync/session.ts";
import { mayReadPersonal } from "../sync/personal.ts";

type Phase = "opening" | "signed-out" | "ready" | "broken";

class Here {
  #list: SessionList | null = null;
  #session = $state.raw<FarmSession | null>(null);
  #phase = $state<Phase>("opening");
  #trouble = $state("");
  #version = $state(0);
  #left = $state(false);
  #stop: () => void = () => undefined;
  #view = $derived.by(() => {
    void this.#version;
    return this.#session ? { ...this.#session.state } : null;
  });

  get phase(): Phase {
    return this.#phase;
  }
  get trouble(): string {
    return this.#trouble;
  }
  get farms(): SessionList["list"] {
    void this.#version;
    return this.#list?.list ?? [];
  }
  /** The session itself: keep, kept, entry, exports, api. */
  get session(): FarmSession {
    if (!this.#session) throw new Error("No farm is open on this phone.");
    return this.#session;
  }
  get ready(): boolean {
    return this.#session !== null;
  }
  get state(): StockState {
    if (!this.#view) throw new Error("No farm is open on this phone.");
    return this.#view;
  }
  /** Changes with every change; for lists that come from functions. */
  get version(): number {
    return this.#version;
  }
  get farm(): FarmSession["farm"] {
    void this.#version;
    return this.session.farm;
  }
  /** Everybody who ever was on the farm; an erased name reads so. */
  get members(): readonly Member[] {
    void this.#version;
    return this.session.members.map((one) => (one.erased || one.name === "" ? { ...one, name: "Erased person" } : one));
  }
  /** Those who may be at work today. */
  get writers(): readonly Member[] {
    return this.members.filter((one) => one.active !== false && !one.erased);
  }
  get member(): Member {
    void this.#version;
    return this.session.member;
  }
  get author(): string {
    void this.#version;
    return this.session.author;
  }
  /** The person at work. */
  get person(): Member {
    return this.writers.find((one) => one.id === this.author) ?? this.member;
  }
  get today(): string {
    void this.#version;
    return this.session.today();
  }
  get unsent(): LocalEntry[] {
    void this.#version;
    return this.session.unsettled();
  }
  get stuck(): LocalEntry[] {
    void this.#version;
    return this.session.stuck();
  }
  /**
   * The stock with all winters listed, for pages that count over the years; costly on a large
   * farm, where `state` lists what is in store and what happened in the last 400 days.
   */
  get whole(): StockState {
    const { state } = this;
    const whole = this.session.whole();
    return whole.lots === state.lots ? state : whole;
  }
  /** How far what is kept on this device has been read; null when it is. */
  get reading(): FarmSession["reading"] {
    void this.#version;
    return this.session.reading;
  }
  get sync(): SyncState {
    void this.#version;
    return this.session.sync;
  }
  entriesOn(date: string): LocalEntry[] {
    void this.#version;
    return this.session.entriesOn(date);
  }
  entriesFor(key: { lot?: string; crate?: string }): LocalEntry[] {
    void this.#version;
    return this.session.entriesFor(key);
  }
  /** True when the person at work may write this kind; others would be set aside. */
  may(kind: Kind): boolean {
    return mayWrite(kind, this.role);
  }
  /** What the person at work may do on this device: never more than whoever it was paired for. */
  get role(): Role {
    return lesserRole(this.person.role, this.member.role);
  }
  /** Buyers, sales and prices. */
  get mayReadPersonal(): boolean {
    return mayReadPersonal(this.role);
  }
  choose(memberId: string): void {
    this.session.chooseAuthor(memberId);
    this.#version += 1;
  }
  newId(): string {
    return this.session.newId();
  }
  record(...drafts: Draft[]): Promise<Saved[]> {
    return this.session.record(...drafts);
  }
  recordFrom(kept: readonly string[], ...drafts: Draft[]): Promise<Saved[]> {
    return this.session.recordFrom(kept, ...drafts);
  }

  async open(): Promise<void> {
    try {
      this.#list = await openSessions();
      this.#list.subscribe(() => (this.#version += 1));
      this.#use(this.#list.current);
    } catch (error) {
      this.#phase = "broken";
      this.#trouble = error instanceof Error ? error.message : String(error);
    }
  }
  async enrol(answer: EnrolAnswer): Promise<void> {
    if (!this.#list) throw new Error("This phone is still opening its store.");
    this.#use(await this.#list.enrol(answer));
  }
  async change(farmId: string): Promise<void> {
    if (this.#list) this.#use(await this.#list.open(farmId));
  }
  async signOut(): Promise<void> {
    await this.#leave((list, farm) => list.signOut(farm));
  }
  /** Takes the farm off this device with `lost` entries that are nowhere else. */
  async erase(lost: number): Promise<void> {
    await this.#leave((list, farm) => list.erase(farm, lost));
  }
  async unsentOf(farmId: string): Promise<number> {
    return (await this.#list?.unsent(farmId)) ?? 0;
  }
  /** True after somebody signed this device out by hand: it does not sign itself in again. */
  get left(): boolean {
    return this.#left;
  }
  async #leave(how: (list: SessionList, farm: string) => Promise<void>): Promise<void> {
    const list = this.#list;
    if (!list) return;
    await how(list, this.session.farm.id);
    this.#left = true;
    const [next] = list.list;
    this.#use(list.current ?? (next ? await list.open(next.farm.id) : null));
  }
  #use(session: FarmSession | null): void {
    this.#stop();
    this.#session = session;
    this.#stop = session?.subscribe(() => (this.#version += 1)) ?? (() => undefined);
    this.#phase = session ? "ready" : "signed-out";
    this.#version += 1;
  }
}

export const here = new Here();
