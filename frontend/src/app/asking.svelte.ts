/** A question to the farm's computer from a page: what went wrong, in words, and whether it is under way. */
import { ApiError, type Asked } from "../sync/session.ts";
import { here } from "./session.svelte.ts";

export class Asking {
  trouble = $state("");
  fields = $state<Record<string, string>>({});
  busy = $state(false);

  /** The answer, or undefined when it was refused or none came: then `trouble` says why. */
  async ask<T>(path: Asked, method = "GET", body?: object): Promise<T | undefined> {
    const asked = await this.send<T>(path, method, body);
    return asked?.answer;
  }

  /** True when it was done; for what answers nothing. */
  async done(path: Asked, method: string, body?: object): Promise<boolean> {
    return (await this.send(path, method, body)) !== undefined;
  }

  private async send<T>(path: Asked, method: string, body?: object): Promise<{ answer: T } | undefined> {
    this.trouble = "";
    this.fields = {};
    this.busy = true;
    try {
      return { answer: await here.session.api<T>(path, { method, ...(body ? { body: JSON.stringify(body) } : {}) }) };
    } catch (error) {
      if (error instanceof ApiError) this.fields = error.fields;
      this.trouble = sentence(error);
      return undefined;
    } finally {
      this.busy = false;
    }
  }
}

function sentence(error: unknown): string {
  if (!(error instanceof ApiError)) return error instanceof Error ? error.message : String(error);
  if (error.code === "no_connection") return "No connection to the farm’s computer. This is kept there and not on the phone: nothing was changed. Try again where there is signal.";
  return error.message;
}
