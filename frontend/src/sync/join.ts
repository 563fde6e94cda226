/** How a device gets in: questions to the farm's computer before anybody is signed in. */
import type { Asked } from "./addresses.ts";
import { askApi } from "./api.ts";
import type { EnrolAnswer } from "./session-types.ts";

const TIMEOUT_MS = 20_000;

const open = {
  ask: (path: string, init: RequestInit = {}): Promise<Response> =>
    fetch(path, {
      signal: AbortSignal.timeout(TIMEOUT_MS),
      credentials: "same-origin",
      cache: "no-store",
      ...init,
      headers: { Accept: "application/json", ...Object.fromEntries(new Headers(init.headers)) },
    }),
};

export interface BrowserSession {
  signed_in: boolean;
  name: string;
  /** False for somebody who has only come in by a start link so far. */
  has_password: boolean;
  /** Not soon after a start link, which proves as much. */
  old_password_needed: boolean;
  csrf: string;
  farms: { id: string; name: string; role: string }[];
}

/** Who this browser is signed in as, by its cookie; rejects with ApiError without a connection. */
export function whoAmI(): Promise<BrowserSession> {
  return askApi<BrowserSession>(open, "/api/session/");
}

function post<T>(path: Asked, body: object, csrf = ""): Promise<T> {
  const headers = csrf ? { "X-CSRFToken": csrf } : {};
  return askApi<T>(open, path, { method: "POST", body: JSON.stringify(body), headers });
}

/** This browser becomes a device of a farm that its session owns; an empty farm takes its time zone. */
export function enrolBrowser(session: BrowserSession, farm: string, name: string): Promise<EnrolAnswer> {
  const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
  return post("/api/devices/", { farm, name, sort: "browser", time_zone: timeZone }, session.csrf);
}

/** A new empty farm of the signed-in owner, with this browser as its first device. */
export function newFarm(session: BrowserSession, name: string, timeZone: string, device: string): Promise<EnrolAnswer> {
  return post("/api/farms/", { name, time_zone: timeZone, device_name: device }, session.csrf);
}

/** Signs this browser in; 403 for a name and password that do not fit, 429 for too many tries. */
export function signIn(name: string, password: string, csrf: string): Promise<BrowserSession> {
  return post("/api/sign-in/", { name, password }, csrf);
}

/** Ends what the browser's cookie opened; its devices stay. */
export async function endSession(): Promise<void> {
  const session = await whoAmI();
  if (session.signed_in) await post("/api/sign-out/", {}, session.csrf);
}

export interface NewPassword {
  new_password: string;
  /** Asked for when there is one already. */
  old_password?: string;
  /** The name to sign in by; kept as it is when left out. */
  name?: string;
}

/** Sets or changes the password of whoever is signed in; other browsers are signed out. */
export function setPassword(told: NewPassword, csrf: string): Promise<unknown> {
  return post("/api/password/", told, csrf);
}

/** Signs this device in with six digits from the owner, or what their picture holds; spaces are no matter. */
export function pair(code: string, deviceName: string): Promise<EnrolAnswer> {
  return post("/api/pair/", { code, device_name: deviceName });
}
