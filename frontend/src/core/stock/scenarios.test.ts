import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { seal } from "../sync/envelope.ts";
import { mayWrite } from "../sync/rights.ts";
import { newestVersion } from "../sync/schemas.ts";
import { refusals } from "../sync/validate.ts";
import { entryFrom, type Entry } from "./entries.ts";
import { Fold } from "./fold.ts";

interface Step {
  on: string;
  who: string;
  kind: string;
  body: Record<string, unknown>;
  as?: string;
  phone?: string;
  written?: string;
  received?: string;
  id?: string;
  role?: string;
  quarantined?: boolean;
}

interface Expected {
  problems: string[];
  state: Record<string, unknown>;
}

interface Told {
  story: string;
  steps: Step[];
  expect: Expected;
  then?: Step[];
  expect_then?: Expected;
}

// The server's tests fold the same files.
const folder = new URL("../../../../tests/scenarios/", import.meta.url);
const files = readdirSync(folder).filter((name) => name.endsWith(".json")).sort();
const ROLES = new Map([["ana", "owner"], ["cleo", "grower"], ["ben", "helper"], ["dora", "helper"], ["vera", "viewer"]]);

function idOf(name: string): string {
  const bytes = createHash("sha256").update(name, "utf8").digest().subarray(0, 16);
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  return bytes.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

function noon(day: string): number {
  return Date.parse(`${day}T12:00:00Z`);
}

class Story {
  readonly fold = new Fold();
  private readonly hashes = new Map<string, string>();
  private written = 0;

  /** The value with names in place of ids and hashes, in keys as well. */
  named(value: unknown): unknown {
    if (Array.isArray(value)) return value.map((part) => this.named(part));
    if (typeof value === "object" && value !== null) {
      return Object.fromEntries(Object.entries(value).map(([key, part]) => [this.text(key), this.named(part)]));
    }
    return typeof value === "string" ? this.text(value) : value;
  }

  private text(value: string): string {
    return value
      .replace(/@(\w+)/g, (_, name: string) => idOf(name))
      .replace(/#(\w+)/g, (_, name: string) => {
        const sha = this.hashes.get(name);
        if (sha === undefined) throw new Error(`no step is called ${name}`);
        return sha;
      });
  }

  take(steps: readonly Step[]): void {
    this.fold.apply(steps.map((step) => this.entry(step)));
  }

  private entry(step: Step): Entry {
    this.written += 1;
    const recorded_at = noon(step.written ?? step.on) + this.written * 1000;
    const received_on = step.received ?? step.on;
    const received_at = noon(received_on) + this.written * 1000 + 500;
    const stamp = step.kind === "field_set" ? ([recorded_at, 0] as const) : null;
    const { raw, sha, envelope } = seal({
      id: idOf(`entry ${step.id ?? this.written}`),
      farm: idOf("farm"),
      device: idOf(step.phone ?? "one"),
      device_seq: this.written,
      author: idOf(step.who),
      kind: step.kind,
      v: 1,
      occurred_on: step.on,
      recorded_at,
      ...(stamp ? { stamp } : {}),
      body: this.named(step.body) as Record<string, unknown>,
    });
    if (step.as !== undefined) this.hashes.set(step.as, sha);
    const role = step.role ?? ROLES.get(step.who) ?? "";
    const held = this.verdict(step, role, envelope.body);
    const recorded_on = new Date(Math.min(recorded_at, received_at)).toISOString().slice(0, 10);
    return entryFrom(raw, {
      sha, seq: this.written, held, received_at, received_on, recorded_on, stamp_eff: stamp, role,
    });
  }

  /** As the server judges, so far as stories need it. */
  private verdict(step: Step, role: string, body: Record<string, unknown>): string | null {
    if (step.quarantined === true) return "quarantined";
    if (newestVersion(step.kind) === undefined) return "unknown_kind";
    if (refusals(step.kind, 1, body).length > 0) return "bad_body";
    return mayWrite(step.kind, role) ? null : "not_permitted";
  }

  check(expected: Expected): void {
    const state = this.fold.state();
    const standing = Object.values(state.problems).filter((one) => one.accepted === "");
    expect(standing.map((one) => one.code).sort()).toEqual(expected.problems);
    expectPart(this.named(expected.state), state, "");
  }
}

/** Every named key of a table is there and reads as told; anything else is equal. */
function expectPart(expected: unknown, found: unknown, where: string): void {
  const isTable = typeof expected === "object" && expected !== null && !Array.isArray(expected);
  if (isTable && Object.keys(expected).length > 0) {
    for (const [key, part] of Object.entries(expected)) {
      expect(Object.keys(found as object), where).toContain(key);
      expectPart(part, (found as Record<string, unknown>)[key], `${where}/${key}`);
    }
  } else {
    expect(JSON.parse(JSON.stringify(found)), where).toEqual(expected);
  }
}

test("there are stories", () => {
  expect(files.length).toBeGreaterThanOrEqual(10);
});

test.each(files)("%s", (name) => {
  const told = JSON.parse(readFileSync(new URL(name, folder), "utf-8")) as Told;
  const story = new Story();
  story.take(told.steps);
  story.check(told.expect);
  if (told.then && told.expect_then) {
    story.take(told.then);
    story.check(told.expect_then);
  }
});
