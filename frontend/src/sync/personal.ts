/** What is about people outside the farm: kept on this device only for those who may read it. */
import type { FarmSession } from "./session-types.ts";

/** Names under which screens keep it. */
export const PERSONAL = ["buyers", "sales", "prices"] as const;
export type Personal = (typeof PERSONAL)[number];

/** As on the farm's computer, which decides; here it hides what would be refused. */
export const mayReadPersonal = (role: string): boolean => role === "owner" || role === "grower";

/** Takes it off this device. Never rejects: without a store there is nothing to take away. */
export async function forgetPersonal(session: Pick<FarmSession, "keep">): Promise<void> {
  for (const name of PERSONAL) await session.keep(name, undefined).catch(() => undefined);
}
