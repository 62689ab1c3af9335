/** From a byte stream to lines of bounded length. */
import type { Duplex } from "node:stream";

/** Longest line let through; good ones have at most 96 bytes and a carriage return. */
const RECEIVED_LINE_BYTES_MAX = 128;

interface LineListener {
  /** A line without its line feed, one character a byte; empty lines are not told. */
  line(text: string): void;
  /** A line went on beyond the limit; what came up to it is told as a line when the line feed comes. */
  overlong(): void;
}

/** Keeps a reader attached for as long as the stream lives: unplugging shows only to a reader. */
export function readLines(stream: Duplex, on: LineListener): void {
  const splitter = new LineSplitter(RECEIVED_LINE_BYTES_MAX, on);
  stream.on("data", (chunk: Buffer) => splitter.take(chunk));
}

/** Lines out of chunks. Of each line only the first `bytesMax` are gathered, whatever a device sends. */
export class LineSplitter {
  readonly #bytesMax: number;
  readonly #on: LineListener;
  #gathered = "";
  #isOverlong = false;

  constructor(bytesMax: number, on: LineListener) {
    this.#bytesMax = bytesMax;
    this.#on = on;
  }

  take(chunk: Buffer): void {
    // latin1 keeps every byte as one character, so that a checksum over the text is one over bytes.
    const text = chunk.toString("latin1");
    let begin = 0;
    for (let end = text.indexOf("\n"); end >= 0; end = text.indexOf("\n", begin)) {
      this.#gather(text.slice(begin, end));
      const line = this.#gathered;
      this.#gathered = "";
      this.#isOverlong = false;
      begin = end + 1;
      if (line !== "") this.#on.line(line);
    }
    this.#gather(text.slice(begin));
  }

  #gather(part: string): void {
    const room = this.#bytesMax - this.#gathered.length;
    if (part.length > room && !this.#isOverlong) {
      this.#isOverlong = true;
      this.#on.overlong();
    }
    this.#gathered += part.length > room ? part.slice(0, room) : part;
  }
}
