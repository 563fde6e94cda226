/** What is known of an entry beside what it says: who, on which phone, when, and by whose phone it came. Pure. */
import type { LocalEntry } from "../sync/session.ts";

export interface FactWords {
  day: (date: string) => string;
  /** ms UTC → "today 09:14" */
  moment: (ms: number) => string;
  person: (entry: LocalEntry) => string;
  phone: (id: string) => string;
  role: (role: string) => string;
}

/** Who, on which phone, when it happened, was written and reached the farm, and by whose phone. */
export function factsOf(entry: LocalEntry, words: FactWords): [label: string, said: string][] {
  const role = entry.role && entry.role !== "server" ? `, ${words.role(entry.role)}` : "";
  const relayed = entry.relayed_by !== null && entry.relayed_by !== entry.device;
  const reached =
    typeof entry.received_at === "number" ? words.moment(entry.received_at) : entry.status === "safe" ? "" : "not yet, it is only on this phone";
  const facts: [string, string][] = [
    ["Who", words.person(entry) + role],
    ["Phone", words.phone(entry.device)],
    ["Happened", words.day(entry.occurred_on)],
    ["Written", words.moment(entry.recorded_at)],
    ["Reached the farm", reached + (reached && relayed ? `, brought by ${words.phone(entry.relayed_by ?? "")}` : "")],
  ];
  return facts.filter(([, said]) => said !== "");
}

/** The writer's name: "Ana", the farm's computer, or somebody who is on no list here. */
export function writerOf(entry: { author: string; role: string }, members: readonly { id: string; name: string }[]): string {
  if (entry.role === "server") return "the farm’s computer";
  return members.find((one) => one.id === entry.author)?.name || "somebody no longer on the list";
}
