/** What a save sounds like. The beep is never the only sign. */
import { prefs } from "./prefs.svelte.ts";

let audio: AudioContext | null = null;

function sound(): AudioContext | null {
  if (typeof AudioContext === "undefined") return null;
  if (navigator.userActivation?.hasBeenActive === false) return null; // browsers keep quiet until a first press
  audio ??= new AudioContext();
  const session = (navigator as { audioSession?: { type: string } }).audioSession;
  if (session) session.type = prefs.beepOnSilent ? "playback" : "auto";
  if (audio.state === "suspended") void audio.resume();
  return audio;
}

function tone(frequency: number, at: number, seconds: number): void {
  const context = sound();
  if (!context) return;
  const oscillator = context.createOscillator();
  const gain = context.createGain();
  oscillator.frequency.value = frequency;
  gain.gain.setValueAtTime(0.15, context.currentTime + at);
  gain.gain.exponentialRampToValueAtTime(0.001, context.currentTime + at + seconds);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(context.currentTime + at);
  oscillator.stop(context.currentTime + at + seconds);
}

export function beepSaved(): void {
  if (prefs.beep) tone(880, 0, 0.12);
}
export function beepRead(): void {
  if (prefs.beep) tone(660, 0, 0.06);
}
export function beepWrong(): void {
  if (!prefs.beep) return;
  tone(220, 0, 0.15);
  tone(220, 0.2, 0.15);
}
