/** HTTP to the farm's computer as phones have it, and the hand that kills it in the middle of a push. */
import { Agent, request, type IncomingMessage } from "node:http";
import { doorOf, type Door } from "../../src/sync/http-transport.ts";
import { killAll } from "./kill.ts";
import type { Killing, Plan } from "./plan.ts";

/** What was said of a record in an answer that a phone has read. */
export interface Told {
  sha: string;
  seq: number;
  verdict: string;
}

const PUSH = "/sync/v1/push";
const USUAL_OF = 9;

export class Line {
  readonly told: Told[] = [];
  readonly seen = { pushes: 0, answered: 0, refused: 0, unanswered: 0 };
  private readonly agent = new Agent({ keepAlive: true });
  private readonly open = new Set<Promise<boolean>>();
  private plan: Plan | null = null;
  private sincePlan = 0;
  private took: number[] = [40];

  constructor(
    private readonly address: string,
    private readonly killed: (what: Killing) => void,
  ) {}

  /** The next kill; it falls once. */
  aim(plan: Plan): void {
    this.plan = plan;
    this.sincePlan = 0;
  }

  /** Everything but a push goes by the app's own door. */
  door(token: () => string): Door {
    const usual = doorOf(token);
    return {
      ask: (path, init) =>
        path === PUSH ? this.push(token(), init?.body as string) : usual.ask(this.address + path, init),
    };
  }

  private async push(token: string, text: string): Promise<Response> {
    this.seen.pushes += 1;
    this.sincePlan += 1;
    const plan = this.plan && this.sincePlan >= this.plan.push ? this.plan : null;
    if (plan) this.plan = null;
    const answer = this.carry(token, Buffer.from(text), plan);
    // True for an answer that tells verdicts, whole.
    const whole = answer.then((told) => told.ok, () => false);
    this.open.add(whole);
    void whole.then(() => this.open.delete(whole));
    try {
      const response = await answer;
      if (response.ok) this.note(await response.clone().text());
      else this.seen.refused += 1;
      return response;
    } catch (error) {
      this.seen.unanswered += 1;
      throw error;
    }
  }

  private note(text: string): void {
    this.seen.answered += 1;
    const { verdicts } = JSON.parse(text) as { verdicts: { sha256: string; seq: number; verdict: string }[] };
    for (const { sha256, seq, verdict } of verdicts) this.told.push({ sha: sha256, seq, verdict });
  }

  private carry(token: string, body: Buffer, plan: Plan | null): Promise<Response> {
    return new Promise((resolve, reject) => {
      let sentAt = Infinity;
      let late: ReturnType<typeof setTimeout> | undefined;
      const kill = once(() => plan && this.kill(plan));
      const asking = request(this.address + PUSH, {
        agent: this.agent,
        method: "POST",
        headers: {
          Authorization: `Bearer ${token}`,
          Accept: "application/json",
          "Content-Type": "application/json",
          "Content-Length": body.length,
        },
      });
      asking.on("error", (error) => {
        clearTimeout(late);
        // The connection went by itself before the moment came: it falls all the same, and is told.
        kill();
        reject(error);
      });
      asking.on("response", (answer) => {
        this.took = [...this.took, performance.now() - sentAt].filter(Number.isFinite).slice(-USUAL_OF);
        clearTimeout(late);
        kill();
        whole(answer).then(resolve, reject);
      });
      const sendAll = (from: number): void => {
        asking.end(body.subarray(from), () => {
          sentAt = performance.now();
          if (plan?.at === "work") late = setTimeout(kill, plan.share * this.usual());
        });
      };
      if (plan?.at === "upload") {
        const part = Math.floor(plan.share * body.length);
        asking.write(body.subarray(0, part), () => {
          kill();
          sendAll(part);
        });
      } else sendAll(0);
    });
  }

  /** Median time between the last byte of a push and the first of its answer, in ms. */
  private usual(): number {
    const sorted = [...this.took].sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? 0;
  }

  private kill(plan: Plan): void {
    killAll(plan.whom);
    const open = [...this.open];
    void Promise.all(open).then((answered) => {
      const interrupted = answered.filter((is) => !is).length;
      this.killed({ at: plan.at, open: open.length, interrupted });
    });
  }
}

function once(act: () => void): () => void {
  let done = false;
  return () => {
    if (done) return;
    done = true;
    act();
  };
}

/** Rejects when the answer is cut off. */
async function whole(answer: IncomingMessage): Promise<Response> {
  const parts: Buffer[] = [];
  for await (const part of answer) parts.push(part as Buffer);
  const headers = new Headers();
  for (const [name, value] of Object.entries(answer.headers)) {
    if (typeof value === "string") headers.set(name, value);
  }
  return new Response(Buffer.concat(parts), { status: answer.statusCode ?? 0, headers });
}
