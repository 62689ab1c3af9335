/** From a byte stream to lines of bounded length. */
import type { Duplex } from "node:stream";
import { ReadlineParser } from "@serialport/parser-readline";

/** Longest line let through to the parser; good ones have at most 96 bytes and a carriage return. */
const RECEIVED_LINE_BYTES_MAX = 128;
const LINE_FEED = 0x0a;

interface LineListener {
  /** A line without its line feed, one character a byte; empty lines are not told. */
  line(text: string): void;
  /** A line went on beyond the limit; what came up to it is told as a line when the line feed comes. */
  overlong(): void;
}

/** Keeps a reader attached for as long as the stream lives: unplugging shows only to a reader. */
export function readLines(
  stream: Duplex,
  on: LineListener,
  bytesMax = RECEIVED_LINE_BYTES_MAX,
): void {
  const bound = new LineBound(bytesMax, () => on.overlong());
  // latin1 keeps every byte as one character, so that a checksum over the text is one over bytes.
  const parser = new ReadlineParser({ delimiter: "\n", encoding: "latin1" });
  parser.on("data", (text: string) => on.line(text));
  stream.on("data", (chunk: Buffer) => parser.write(bound.kept(chunk)));
}

/**
 * Bounds the length of a line before the line parser, which would gather bytes without end when a
 * device sends garbage with no line feed in it.
 */
class LineBound {
  readonly #bytesMax: number;
  readonly #onOverlong: () => void;
  #lineBytes = 0;

  constructor(bytesMax: number, onOverlong: () => void) {
    this.#bytesMax = bytesMax;
    this.#onOverlong = onOverlong;
  }

  /** The chunk without what goes beyond the limit; the chunk itself where nothing does. */
  kept(chunk: Buffer): Buffer {
    const parts: Buffer[] = [];
    let isWhole = true;
    for (let begin = 0; begin < chunk.length; ) {
      const feed = chunk.indexOf(LINE_FEED, begin);
      const end = feed === -1 ? chunk.length : feed;
      const room = Math.max(0, this.#bytesMax - this.#lineBytes);
      const length = end - begin;
      if (length > room) {
        if (this.#lineBytes <= this.#bytesMax) this.#onOverlong();
        isWhole = false;
      }
      parts.push(chunk.subarray(begin, begin + Math.min(length, room)));
      this.#lineBytes += length;
      if (feed === -1) break;
      parts.push(chunk.subarray(feed, feed + 1));
      this.#lineBytes = 0;
      begin = feed + 1;
    }
    return isWhole ? chunk : Buffer.concat(parts);
  }
}
