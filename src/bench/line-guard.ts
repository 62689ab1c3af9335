/**
 * Bounds the length of a line before the line parser, which would gather bytes without end when a
 * device sends garbage with no line feed in it.
 */
import { Transform, type TransformCallback } from "node:stream";

const LINE_FEED = 0x0a;

/** Passes bytes on, but of each line only the first `bytesMax`; what is beyond is dropped. */
export class LineGuard extends Transform {
  readonly #bytesMax: number;
  readonly #onOverlong: () => void;
  #lineBytes = 0;

  constructor(options: { readonly bytesMax: number; readonly onOverlong: () => void }) {
    super();
    this.#bytesMax = options.bytesMax;
    this.#onOverlong = options.onOverlong;
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: TransformCallback): void {
    const kept = Buffer.alloc(chunk.length);
    let keptBytes = 0;
    for (const byte of chunk) {
      if (byte === LINE_FEED) {
        this.#lineBytes = 0;
      } else {
        this.#lineBytes += 1;
        if (this.#lineBytes === this.#bytesMax + 1) this.#onOverlong();
        if (this.#lineBytes > this.#bytesMax) continue;
      }
      kept[keptBytes] = byte;
      keptBytes += 1;
    }
    done(null, kept.subarray(0, keptBytes));
  }
}
