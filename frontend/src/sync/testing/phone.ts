/** A phone of the model farm: its disk outlives the program that runs on it. */
import { FarmStore } from "../../store/farm-store.ts";
import { FARM, PHONE, saveOne, type Wish } from "../../store/testing/entries.ts";
import { freshDisk, type Seams } from "../../store/testing/fake.ts";
import { syncRound } from "../round.ts";
import { NoAnswer, type Transport } from "../transport.ts";
import { FaultyWire, type ModelServer } from "./model-server.ts";

export class Phone {
  readonly disk: Seams = freshDisk();
  store: FarmStore;
  readonly wire: FaultyWire;
  /** The texts that save() has answered for: what the screen said is saved. */
  readonly shown: string[] = [];
  progress: string[] = [];
  app = "1";

  constructor(
    readonly server: ModelServer,
    readonly device: string = PHONE,
  ) {
    this.store = new FarmStore(FARM, this.disk);
    this.wire = new FaultyWire(server, () => new NoAnswer());
  }

  async save(wish: Wish = {}): Promise<string> {
    const row = await saveOne(this.store, { device: this.device, at: this.server.now - 1000, ...wish });
    this.shown.push(row.raw as string);
    return row.sha;
  }

  sync(transport: Transport = this.wire): Promise<void> {
    return syncRound({
      store: this.store,
      transport,
      now: () => this.server.now,
      app: this.app,
      device: this.device,
      progress: (phase, done, total) => {
        this.progress.push(`${phase} ${done}/${total}`);
      },
    });
  }

  /** The app is started again on the same disk. */
  restart(): void {
    this.store.close();
    this.store = new FarmStore(FARM, this.disk);
  }

  async texts(): Promise<string[]> {
    return (await this.store.all()).map((row) => row.raw as string);
  }
}
