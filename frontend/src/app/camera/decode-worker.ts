/// <reference lib="webworker" />
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import wasmUrl from "zxing-wasm/reader/zxing_reader.wasm?url";
import { clearer } from "./stretch.ts";

// Without this the decoder would be fetched from another host.
void prepareZXingModule({
  overrides: { locateFile: (path: string, before: string) => (path.endsWith(".wasm") ? wasmUrl : before + path) },
});

export interface FrameAsked {
  id: number;
  width: number;
  height: number;
  pixels: ArrayBuffer;
  clear: boolean;
}

export interface Seen {
  text: string;
  /** Corners in the frame, in pixels. */
  corners: { x: number; y: number }[];
}

export interface FrameRead {
  id: number;
  seen: Seen[];
  failed: string;
}

const desk = self as unknown as DedicatedWorkerGlobalScope;

async function read(asked: FrameAsked): Promise<FrameRead> {
  const plain = new Uint8ClampedArray(asked.pixels);
  const pixels = asked.clear ? clearer(plain, asked.width, asked.height) : plain;
  try {
    const found = await readBarcodes(new ImageData(pixels, asked.width, asked.height), {
      formats: ["QRCode"],
      tryHarder: true,
      maxNumberOfSymbols: 4,
    });
    const seen = found
      .filter((one) => one.isValid)
      .map(({ text, position: p }) => ({ text, corners: [p.topLeft, p.topRight, p.bottomRight, p.bottomLeft] }));
    return { id: asked.id, seen, failed: "" };
  } catch (error) {
    return { id: asked.id, seen: [], failed: String(error) };
  }
}

desk.onmessage = (event: MessageEvent<FrameAsked>) => {
  void read(event.data).then((answer) => {
    desk.postMessage(answer);
  });
};
