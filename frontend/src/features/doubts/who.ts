interface Named {
  id: string;
  name: string;
}

/** Names the writer of an entry: "Ana", or "somebody" when she or the entry is not on this phone. */
export function whoWrote(
  members: readonly Named[],
  find: (sha: string) => { author: string; role: string } | undefined,
): (sha: string) => string {
  return (sha) => {
    const entry = find(sha);
    if (!entry) return "somebody";
    if (entry.role === "server") return "the farm’s computer";
    return members.find((one) => one.id === entry.author)?.name ?? "somebody";
  };
}
