/**
 * Phones of the restore drill: the app's own store, round and transport, told step by step.
 *
 * Reads JSON lines `{"phone": name, …}` with one of `open` (where and who), `save` (a draft),
 * `sync` (with the faults of the network, one per request), `report`. Answers each in one line.
 */
import { createInterface } from "node:readline";
import { canonical } from "../src/core/stock/canonical.ts";
import { entryFrom } from "../src/core/stock/entries.ts";
import { Fold } from "../src/core/stock/fold.ts";
import { FarmStore } from "../src/store/farm-store.ts";
import { freshDisk } from "../src/store/testing/fake.ts";
import { makerFor } from "../src/sync/drafting.ts";
import { httpTransport } from "../src/sync/http-transport.ts";
import { syncRound } from "../src/sync/round.ts";
import type { Draft, Farm, Member } from "../src/sync/session-types.ts";

interface Open {
  address: string;
  token: string;
  farm: Farm;
  device: string;
  member: Member;
}

type Fault = "" | "request_lost" | "reply_lost" | "twice";

interface Told {
  phone: string;
  open?: Open;
  save?: Draft & { at: number };
  sync?: Fault[];
  report?: true;
}

class Phone {
  private readonly store: FarmStore;
  private readonly disk = freshDisk();
  private faults: Fault[] = [];

  constructor(private readonly who: Open) {
    this.store = new FarmStore(who.farm.id, this.disk);
  }

  async save({ at, ...draft }: Draft & { at: number }): Promise<string> {
    const { farm, device, member } = this.who;
    const randomBytes = (count: number): Uint8Array => crypto.getRandomValues(new Uint8Array(count));
    const today = new Date(at).toISOString().slice(0, 10);
    const maker = makerFor(draft, { farm, device, member, author: member, now: at, today, randomBytes });
    const [row] = await this.store.save(device, [maker]);
    return row?.sha ?? "";
  }

  /** "" when all is settled, else why not. */
  async sync(faults: Fault[]): Promise<string> {
    this.faults = faults;
    const door = { ask: (path: string, init: RequestInit = {}) => this.ask(path, init) };
    try {
      await syncRound({
        store: this.store,
        transport: httpTransport(door),
        now: () => Date.now(),
        app: "drill",
        device: this.who.device,
        progress: () => undefined,
      });
      return "";
    } catch (error) {
      return error instanceof Error ? `${error.name}: ${error.message}` : "unknown";
    } finally {
      this.faults = [];
    }
  }

  private async ask(path: string, init: RequestInit): Promise<Response> {
    const fault = this.faults.shift() ?? "";
    if (fault === "request_lost") throw new TypeError("lost on the way there");
    const headers = { ...init.headers, Authorization: `Bearer ${this.who.token}` };
    const send = (): Promise<Response> => fetch(this.who.address + path, { ...init, headers });
    if (fault === "twice") await (await send()).text();
    const answer = await send();
    if (fault !== "reply_lost") return answer;
    await answer.text();
    throw new TypeError("lost on the way back");
  }

  async report() {
    const rows = await this.store.all();
    const fold = new Fold();
    fold.apply(rows.map((row) => entryFrom(row.raw, row)));
    const { seq, chain } = await this.store.cursor();
    return {
      shas: rows.map((row) => row.sha).sort(),
      cursor: [seq, chain],
      due: await this.store.counts(),
      epoch: await this.store.epoch(),
      state: canonical(fold.state()),
    };
  }
}

const phones = new Map<string, Phone>();

async function answer({ phone: name, open, save, sync, report }: Told): Promise<unknown> {
  if (open) phones.set(name, new Phone(open));
  const phone = phones.get(name);
  if (!phone) throw new Error(`there is no phone ${name}`);
  if (save) return phone.save(save);
  if (sync) return phone.sync(sync);
  return report ? phone.report() : "";
}

for await (const line of createInterface({ input: process.stdin })) {
  process.stdout.write(`${JSON.stringify(await answer(JSON.parse(line) as Told))}\n`);
}
