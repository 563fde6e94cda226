import { expect, test } from "vitest";
import { deviceName } from "./device-name.ts";

// Forms of user agents as browsers have sent them for years; from memory, no source.
test.each([
  ["Mozilla/5.0 (iPhone; CPU iPhone OS 18_4 like Mac OS X) AppleWebKit/605.1.15 Version/18.4 Mobile/15E148 Safari/604.1", "iPhone"],
  ["Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/140.0.0.0 Mobile Safari/537.36", "Android phone"],
  ["Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux"],
  ["Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0", "Edge on Windows"],
  ["Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 Version/18.4 Safari/605.1.15", "Safari on Mac"],
  ["", "Browser on Computer"],
])("%s", (agent, name) => {
  expect(deviceName(agent)).toBe(name);
});
