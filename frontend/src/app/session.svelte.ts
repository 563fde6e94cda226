/**
 * The farm on this phone, for screens. `here.state` may be read in any $derived
 * or template and follows every change. The stock is changed in place, so a
 * $derived should end in a value, a list or a copy ({...lot}), not in the lot itself.
 */
import { mayWrite } from "../core/sync/rights.ts";
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

type Phase = "opening" | "signed-out" | "ready" | "broken";

class Here {
  #list: SessionList | null = null;
  #session = $state.raw<FarmSession | null>(null);
  #phase = $state<Phase>("opening");
  #trouble = $state("");
  #version = $state(0);
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
  get members(): readonly Member[] {
    void this.#version;
    return this.session.members;
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
    return this.members.find((one) => one.id === this.author) ?? this.member;
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
    const roles: Role[] = [this.person.role, this.member.role];
    return roles.every((role) => mayWrite(kind, role));
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
    await this.#list?.signOut(this.session.farm.id);
    this.#use(this.#list?.current ?? null);
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
