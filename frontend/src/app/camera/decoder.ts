/** Reads QR codes from pictures: the browser's own decoder when it proves itself, else ours in a worker. */
import type { FrameAsked, FrameRead, Seen } from "./decode-worker.ts";
import { KNOWN_TEXT, knownPicture } from "./known-picture.ts";

export type { Seen } from "./decode-worker.ts";

export interface Decoder {
  read(frame: ImageData, clear: boolean): Promise<Seen[]>;
  end(): void;
}

interface BrowserDetector {
  detect(image: ImageData): Promise<{ rawValue: string; cornerPoints: { x: number; y: number }[] }[]>;
}
interface BrowserDetectorClass {
  new (options: { formats: string[] }): BrowserDetector;
  getSupportedFormats(): Promise<string[]>;
}

/** Some browsers have the class and no formats, or formats and no answer: it must read a known picture. */
async function browsersOwn(): Promise<Decoder | null> {
  const Detector = (globalThis as { BarcodeDetector?: BrowserDetectorClass }).BarcodeDetector;
  if (!Detector) return null;
  try {
    if (!(await Detector.getSupportedFormats()).includes("qr_code")) return null;
    const detector = new Detector({ formats: ["qr_code"] });
    const read = async (frame: ImageData): Promise<Seen[]> =>
      (await detector.detect(frame)).map((one) => ({ text: one.rawValue, corners: [...one.cornerPoints] }));
    const { width, pixels } = knownPicture(6);
    const seen = await read(new ImageData(pixels, width, width));
    if (seen[0]?.text !== KNOWN_TEXT) return null;
    return { read, end: () => undefined };
  } catch {
    return null; // It said it could and cannot: ours is used.
  }
}

class OwnDecoder implements Decoder {
  #worker = new Worker(new URL("./decode-worker.ts", import.meta.url), { type: "module" });
  #next = 1;
  #waiting = new Map<number, { resolve: (seen: Seen[]) => void; reject: (error: Error) => void }>();

  constructor() {
    this.#worker.onmessage = (event: MessageEvent<FrameRead>) => {
      const waiting = this.#waiting.get(event.data.id);
      this.#waiting.delete(event.data.id);
      if (event.data.failed) waiting?.reject(new Error(event.data.failed));
      else waiting?.resolve(event.data.seen);
    };
    this.#worker.onerror = (event) => {
      for (const waiting of this.#waiting.values()) waiting.reject(new Error(event.message));
      this.#waiting.clear();
    };
  }
  read(frame: ImageData, clear: boolean): Promise<Seen[]> {
    const id = this.#next++;
    const asked: FrameAsked = { id, width: frame.width, height: frame.height, pixels: frame.data.buffer, clear };
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      this.#worker.postMessage(asked, [asked.pixels]);
    });
  }
  end(): void {
    this.#worker.terminate();
  }
}

/** Plain frames go to the browser's own decoder when there is one; cleared ones always to ours. */
export async function makeDecoder(): Promise<Decoder> {
  const own = new OwnDecoder();
  const browsers = await browsersOwn();
  if (!browsers) return own;
  return {
    read: (frame, clear) => (clear ? own.read(frame, true) : browsers.read(frame, false)),
    end: () => {
      own.end();
    },
  };
}
