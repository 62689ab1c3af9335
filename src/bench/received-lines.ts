/** From a byte stream to lines of bounded length. */
import type { Duplex } from "node:stream";

/** Longest line told; good ones have at most 96 bytes and a carriage return. */
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
  const gatherer = new LineGatherer(on, bytesMax);
  stream.on("data", (chunk: Buffer) => gatherer.take(chunk));
}

/**
 * Puts lines together from chunks, and never keeps more of one than the limit: a device that sends garbage with no
 * line feed in it would be gathered without end, as a general splitter of streams would.
 */
class LineGatherer {
  readonly #on: LineListener;
  readonly #bytesMax: number;
  #line = "";
  #isOverlong = false;

  constructor(on: LineListener, bytesMax: number) {
    this.#on = on;
    this.#bytesMax = bytesMax;
  }

  take(chunk: Buffer): void {
    for (let begin = 0; begin < chunk.length; ) {
      const feed = chunk.indexOf(LINE_FEED, begin);
      this.#add(chunk, begin, feed === -1 ? chunk.length : feed);
      if (feed === -1) return;
      const line = this.#line;
      this.#line = "";
      this.#isOverlong = false;
      if (line !== "") this.#on.line(line);
      begin = feed + 1;
    }
  }

  #add(chunk: Buffer, begin: number, end: number): void {
    const room = this.#bytesMax - this.#line.length;
    // latin1 keeps every byte as one character, so that a checksum over the text is one over bytes.
    this.#line += chunk.toString("latin1", begin, Math.min(end, begin + room));
    if (end - begin <= room || this.#isOverlong) return;
    this.#isOverlong = true;
    this.#on.overlong();
  }
}
