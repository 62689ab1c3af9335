/** From a byte stream to lines of bounded length. */
import type { Duplex } from "node:stream";
import { ReadlineParser } from "@serialport/parser-readline";
import { LineGuard } from "./line-guard.ts";

/** Longest line let through to the parser; good ones have at most 96 bytes and a carriage return. */
const RECEIVED_LINE_BYTES_MAX = 128;

/** Keeps a reader attached for as long as the stream lives: unplugging shows only to a reader. */
export function readLines(
  stream: Duplex,
  on: { readonly line: (text: string) => void; readonly overlong: () => void },
): void {
  const guard = new LineGuard({ bytesMax: RECEIVED_LINE_BYTES_MAX, onOverlong: on.overlong });
  // latin1 keeps every byte as one character, so that a checksum over the text is one over bytes.
  const parser = new ReadlineParser({ delimiter: "\n", encoding: "latin1" });
  parser.on("data", on.line);
  stream.pipe(guard).pipe(parser);
}
