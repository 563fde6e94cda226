/** Keeps the screen lit while the camera shows, where the browser can. The answer ends it. */
export function keepAwake(): () => void {
  let lock: WakeLockSentinel | null = null;
  let over = false;
  const ask = () => {
    if (over || document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
    navigator.wakeLock.request("screen").then(
      (got) => {
        lock = got;
        if (over) void got.release();
      },
      () => undefined, // Low battery or an older phone: the screen may sleep.
    );
  };
  ask();
  document.addEventListener("visibilitychange", ask);
  return () => {
    over = true;
    document.removeEventListener("visibilitychange", ask);
    void lock?.release();
  };
}
