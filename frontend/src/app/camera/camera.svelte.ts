/**
 * One camera stream for the whole app. It is opened once and kept from crate to
 * crate, so that the lamp stays lit and the browser does not ask again. It ends
 * two minutes after the app is hidden, or after the last screen that shows it is gone.
 */
import { prefs, setPref } from "../prefs.svelte.ts";

export type CameraPhase = "off" | "starting" | "on" | "refused" | "none" | "frozen";

const KEEP_MS = 120_000;
interface MoreCapabilities {
  torch?: boolean | boolean[];
  focusMode?: string[];
}

let phase = $state<CameraPhase>("off");
let stream = $state.raw<MediaStream | null>(null);
let lampThere = $state(false);
let lampOn = $state(false);
let lenses = $state.raw<string[]>([]);
let endLater: ReturnType<typeof setTimeout> | undefined;
let users = 0;

export const camera = {
  get phase(): CameraPhase {
    return phase;
  },
  get stream(): MediaStream | null {
    return stream;
  },
  get lampThere(): boolean {
    return lampThere;
  },
  get lampOn(): boolean {
    return lampOn;
  },
  get moreLenses(): boolean {
    return lenses.length > 1;
  },
};

const track = (): MediaStreamTrack | undefined => stream?.getVideoTracks()[0];

function wanted(): MediaStreamConstraints {
  const size = { width: { ideal: 1920 }, height: { ideal: 1080 } };
  return {
    audio: false,
    video: prefs.lens ? { ...size, deviceId: { ideal: prefs.lens } } : { ...size, facingMode: { ideal: "environment" } },
  };
}

export async function openCamera(): Promise<void> {
  clearTimeout(endLater);
  if (track()?.readyState === "live" && phase === "on") return;
  if (!navigator.mediaDevices?.getUserMedia) {
    phase = "none";
    return;
  }
  phase = "starting";
  try {
    stream = await navigator.mediaDevices.getUserMedia(wanted());
    phase = "on";
    await settle();
  } catch (error) {
    const name = error instanceof DOMException ? error.name : "";
    phase = name === "NotAllowedError" || name === "SecurityError" ? "refused" : "none";
  }
}

async function settle(): Promise<void> {
  const live = track();
  if (!live) return;
  live.addEventListener("ended", () => {
    if (live === track()) phase = "frozen";
  });
  const can = (live.getCapabilities?.() ?? {}) as MoreCapabilities;
  lampThere = Array.isArray(can.torch) ? can.torch.includes(true) : can.torch === true;
  if (can.focusMode?.includes("continuous")) await apply({ focusMode: "continuous" });
  lampOn = false;
  // Opening the camera turns the phone's own lamp off, so ours comes back as it was.
  if (lampThere && prefs.lamp) await setLamp(true);
  const devices = await navigator.mediaDevices.enumerateDevices();
  lenses = devices.filter((one) => one.kind === "videoinput" && one.deviceId).map((one) => one.deviceId);
}

async function apply(constraint: MediaTrackConstraintSet & { torch?: boolean; focusMode?: string }): Promise<boolean> {
  try {
    await track()?.applyConstraints({ advanced: [constraint] });
    return true;
  } catch {
    return false; // The camera promised what it cannot do; it goes on without.
  }
}

export async function setLamp(on: boolean): Promise<void> {
  if (await apply({ torch: on })) {
    lampOn = on;
    setPref("lamp", on);
  } else lampThere = false;
}

/** The next camera of this phone, remembered. */
export async function nextLens(): Promise<void> {
  const now = track()?.getSettings().deviceId ?? "";
  const next = lenses[(lenses.indexOf(now) + 1) % lenses.length];
  if (!next) return;
  setPref("lens", next);
  endCamera();
  await openCamera();
}

export function endCamera(): void {
  for (const one of stream?.getTracks() ?? []) one.stop();
  stream = null;
  lampOn = false;
  if (phase === "on" || phase === "frozen" || phase === "starting") phase = "off";
}

/** The picture stands still: the person is asked to start it again. */
export function markFrozen(): void {
  if (phase === "on") phase = "frozen";
}

export async function restartCamera(): Promise<void> {
  endCamera();
  phase = "off";
  await openCamera();
}

function endSoon(): void {
  clearTimeout(endLater);
  endLater = setTimeout(endCamera, KEEP_MS);
}

/** A screen shows the camera; the answer says it no longer does. */
export function useCamera(): () => void {
  users += 1;
  const onvisible = () => {
    if (document.visibilityState === "hidden") endSoon();
    else if (track()?.readyState !== "live" || track()?.muted) void restartCamera();
    else clearTimeout(endLater);
  };
  document.addEventListener("visibilitychange", onvisible);
  void openCamera();
  return () => {
    users -= 1;
    document.removeEventListener("visibilitychange", onvisible);
    if (users === 0) endSoon();
  };
}
