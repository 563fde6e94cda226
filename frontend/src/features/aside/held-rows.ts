/** The entries of the farm that are set aside, with what was decided on each. */
import { entriesNaming } from "../../app/form/writing.svelte.ts";
import { decisionOn } from "../../app/held.ts";
import { here } from "../../app/session.svelte.ts";
import type { HeldRow } from "./groups.ts";

/** Follows every change; in the order of the feed. */
export function heldRows(): HeldRow[] {
  void here.version;
  return Object.entries(here.state.held)
    .map(([sha, code]): HeldRow => ({ sha, code, entry: here.session.entry(sha), decided: decisionOn(sha, entriesNaming(sha)) }))
    .sort((a, b) => (a.entry?.seq ?? 0) - (b.entry?.seq ?? 0));
}

/** The entry as it arrived, as one line of text, whatever it holds. */
export async function rawLine(seq: number | null): Promise<string> {
  const all = await (await here.session.exportAll()).text();
  return all.split("\n").find((line) => line.startsWith(`{"seq":${seq},`)) ?? "";
}
