/** Questions of screens to the farm's computer. */
import type { Asked } from "./addresses.ts";
import type { Door } from "./http-transport.ts";
import { ApiError } from "./session-types.ts";

/** The answer as JSON, or as a Blob when it is something else. ApiError when it is a refusal or none came. */
export async function askApi<T>(door: Door, path: Asked, init?: RequestInit): Promise<T> {
  let response: Response;
  try {
    response = await door.ask(path, withJson(init));
  } catch {
    throw new ApiError("no_connection", "No connection to the farm computer. Try again where there is signal.", 0);
  }
  if (!response.ok) throw await refusalOf(response);
  if (response.status === 204) return undefined as T;
  const isJson = (response.headers.get("Content-Type") ?? "").includes("json");
  return (await (isJson ? response.json() : response.blob())) as T;
}

function withJson(init: RequestInit = {}): RequestInit {
  if (typeof init.body !== "string") return init;
  const headers = new Headers(init.headers);
  if (!headers.has("Content-Type")) headers.set("Content-Type", "application/json");
  return { ...init, headers };
}

async function refusalOf(response: Response): Promise<ApiError> {
  const told = (await response.json().catch(() => null)) as {
    code?: unknown;
    message?: unknown;
    fields?: unknown;
    retry_after_s?: unknown;
  } | null;
  const code = typeof told?.code === "string" ? told.code : `http_${response.status}`;
  const message =
    typeof told?.message === "string"
      ? told.message
      : `The farm computer could not answer (${response.status}). What is saved on this phone stays saved.`;
  return new ApiError(code, message, response.status, fieldsOf(told?.fields), wait(told?.retry_after_s, response));
}

/** Seconds to wait, from the answer itself or from its heading. */
function wait(told: unknown, response: Response): number | null {
  const seconds = typeof told === "number" ? told : Number(response.headers.get("Retry-After") ?? Number.NaN);
  return Number.isFinite(seconds) && seconds >= 0 ? Math.ceil(seconds) : null;
}

function fieldsOf(value: unknown): Record<string, string> {
  if (typeof value !== "object" || value === null) return {};
  return Object.fromEntries(
    Object.entries(value).map(([name, words]) => [name, Array.isArray(words) ? words.join(" ") : String(words)]),
  );
}
