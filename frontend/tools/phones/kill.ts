/** SIGKILL: no process can hear it, or clean up after it. Linux alone, for the children. */
import { readdirSync, readFileSync } from "node:fs";
import type { Whom } from "./plan.ts";

/** Throws when there was nobody to kill. */
export function killAll({ pids, parent, named }: Whom): void {
  // A parent that dies too has no more children meanwhile.
  if (parent !== undefined && pids.includes(parent)) process.kill(parent, "SIGSTOP");
  const all = [...pids, ...(parent === undefined ? [] : childrenOf(parent, named ?? ""))];
  if (all.filter(kill).length === 0) throw new Error(`${parent} has no child ${named} to kill`);
}

/** False when it had ended already, as the children of a killed parent may. */
function kill(pid: number): boolean {
  try {
    return process.kill(pid, "SIGKILL");
  } catch (error) {
    if ((error as { code?: unknown }).code === "ESRCH") return false;
    throw error;
  }
}

function childrenOf(parent: number, named: string): number[] {
  return readdirSync("/proc")
    .filter((name) => /^\d+$/.test(name))
    .map(Number)
    .filter((pid) => {
      try {
        // "pid (name) state parent …"; a name may hold spaces and brackets.
        const [, told] = /\) \S (\d+)/.exec(readFileSync(`/proc/${pid}/stat`, "utf8")) ?? [];
        return Number(told) === parent && readFileSync(`/proc/${pid}/cmdline`, "utf8").includes(named);
      } catch {
        return false; // It has ended meanwhile.
      }
    });
}
