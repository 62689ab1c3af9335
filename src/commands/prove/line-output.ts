/**
 * Lines to a pipe, a file or a plain terminal, without ever waiting for the reader.
 *
 * What a slow reader has not taken is kept up to a bound; beyond it lines are left out, and how
 * many is said once the reader has caught up. The journal holds every event all the same.
 */
import type { Writable } from "node:stream";

/** Some hours of plain lines; a reader that is further behind does not read. */
const WAITING_BYTES_MAX = 8 * 1024 * 1024;

export interface LineOutput {
  write(line: string): void;
}

export interface LineOutputOptions {
  readonly stream: Writable;
  /** True once nobody reads any more. */
  readonly gone: () => boolean;
  /** How to say that lines were left out; null says it in no line, for output of a fixed form. */
  readonly leftOutLine: ((count: number) => string) | null;
  readonly waitingBytesMax?: number;
}

export function createLineOutput(options: LineOutputOptions): LineOutput {
  const { stream, gone, leftOutLine, waitingBytesMax = WAITING_BYTES_MAX } = options;
  let leftOut = 0;
  return {
    write(line) {
      if (gone() || stream.destroyed) return;
      if (stream.writableLength > waitingBytesMax) {
        leftOut += 1;
        return;
      }
      if (leftOut > 0 && leftOutLine !== null) stream.write(`${leftOutLine(leftOut)}\n`);
      leftOut = 0;
      stream.write(`${line}\n`);
    },
  };
}
