/** What screens use of the farm's records and of the network. */
export * from "./session-types.ts";
export { openSessions } from "./session-list.ts";
