/** Buyers, sales and the price list: kept beside the entries, and only for those who may read them. */
import { here } from "../../app/session.svelte.ts";
import { forgetPersonal, PERSONAL, type Personal } from "../../sync/personal.ts";
import { ApiError, type Asked } from "../../sync/session.ts";

export interface Buyer {
  id: string;
  name: string;
  contact: string;
  note: string;
}
export interface Sale {
  id: string;
  buyer: string | null;
  price_minor: number | null;
  currency: string;
  note: string;
}
export interface Price {
  id: string;
  variety: string | null;
  unit: string;
  price_minor: number;
  currency: string;
}
interface Rows {
  buyers: Buyer[];
  sales: Sale[];
  prices: Price[];
}

const ADDRESS: Record<Personal, Asked> = { buyers: "/api/buyers/", sales: "/api/sales/", prices: "/api/prices/" };
const NOTHING: Rows = { buyers: [], sales: [], prices: [] };

let rows = $state.raw<Rows>(NOTHING);
let phase = $state<"asking" | "fresh" | "kept" | "barred">("asking");
let of = "";

export const book = {
  get buyers(): Buyer[] {
    return rows.buyers;
  },
  get sales(): Sale[] {
    return rows.sales;
  },
  get prices(): Price[] {
    return rows.prices;
  },
  /** fresh: as the farm's computer has it; kept: as last fetched; barred: not for this role. */
  get phase(): typeof phase {
    return phase;
  },
  buyerName(id: string | null): string {
    return id === null ? "" : (rows.buyers.find((one) => one.id === id)?.name ?? "a buyer erased since");
  },
};

/** What was kept at once, then what the farm's computer says. Never rejects. */
export async function loadBook(): Promise<void> {
  if (!here.ready) return;
  const session = here.session;
  if (!here.mayReadPersonal) {
    rows = NOTHING;
    phase = "barred";
    return;
  }
  if (of !== session.farm.id) {
    of = session.farm.id;
    phase = "asking";
    const kept = await Promise.all(PERSONAL.map((name) => session.kept<never[]>(name).catch(() => undefined)));
    rows = { buyers: kept[0] ?? [], sales: kept[1] ?? [], prices: kept[2] ?? [] };
  }
  try {
    const [buyers, sales, prices] = await Promise.all([
      session.api<Buyer[]>(ADDRESS.buyers),
      session.api<Sale[]>(ADDRESS.sales),
      session.api<Price[]>(ADDRESS.prices),
    ]);
    rows = { buyers, sales, prices };
    phase = "fresh";
    for (const name of PERSONAL) await session.keep(name, rows[name]);
  } catch (error) {
    const refused = error instanceof ApiError && (error.status === 403 || error.status === 401);
    if (refused) {
      rows = NOTHING;
      await forgetPersonal(session);
    }
    phase = refused ? "barred" : "kept";
  }
}
