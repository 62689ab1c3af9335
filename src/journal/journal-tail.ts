/**
 * The end of a journal that another program may still be writing: whole lines are taken up as they
 * come, a line that is torn waits until the rest of it is there.
 *
 * The writer syncs each batch before it counts, and cuts back what the disk did not take: a reader
 * may have seen lines that were never sealed. They are found by the file having become shorter or by
 * a chain that no longer holds; then everything is told again from the beginning.
 */
import { closeSync, fstatSync, openSync, readSync, type Stats, statSync } from "node:fs";
import type { JournalEntry } from "../events/events.ts";
import { JournalReadError } from "./journal-fault.ts";
import { LINE_BYTES_MAX, LineChain } from "./line-chain.ts";
import { readJournal } from "./read-journal.ts";
import { requireJournalSize, unreadable } from "./scan-journal.ts";
import { codeOf } from "./system-error.ts";

/** Taken up in one go, so that keys are heard between two pieces of a long journal. */
const PIECE_BYTES = 256 * 1024;
const LF = 0x0a;

export interface TailListener {
  readonly onEntry: (entry: JournalEntry) => void;
  /** What was told so far is void; entries follow again from the first. */
  readonly onRetold: () => void;
}

export class JournalTail {
  readonly #path: string;
  readonly #file: number;
  readonly #listener: TailListener;
  #chain = new LineChain();
  /** End of the last whole line. */
  #wholeBytes = 0;
  #seenBytes = 0;
  #pieceBytes = PIECE_BYTES;

  /** @throws JournalReadError when there is no such file, or no right to read it */
  constructor(path: string, listener: TailListener) {
    this.#path = path;
    this.#listener = listener;
    try {
      this.#file = openSync(path, "r");
    } catch (error) {
      throw unreadable(path, error);
    }
  }

  /** Bytes of the file when it was last looked at. */
  get seenBytes(): number {
    return this.#seenBytes;
  }

  /**
   * Tell of whole lines that are new, some at a time.
   *
   * @returns whether more of them are waiting
   * @throws JournalReadError
   */
  read(): boolean {
    try {
      return this.#readPiece();
    } catch (error) {
      if (!(error instanceof JournalReadError)) throw unreadable(this.#path, error);
      if (!holds(this.#path)) throw error;
      this.#retell();
      return true;
    }
  }

  /** Whether the file still stands under its name. */
  stands(): boolean {
    const named = statOrNull(this.#path);
    if (named === null) return false;
    const { dev, ino } = fstatSync(this.#file);
    return named.dev === dev && named.ino === ino;
  }

  /** When the file was last written to, by the wall clock of its file system, ms since 1970. */
  writtenMs(): number {
    return fstatSync(this.#file).mtimeMs;
  }

  close(): void {
    closeSync(this.#file);
  }

  #readPiece(): boolean {
    const { size } = fstatSync(this.#file);
    requireJournalSize(this.#path, size);
    this.#seenBytes = size;
    if (size < this.#wholeBytes) {
      this.#retell();
      return true;
    }
    const bytes = this.#bytesAt(Math.min(size - this.#wholeBytes, this.#pieceBytes));
    let start = 0;
    for (let end = bytes.indexOf(LF); end !== -1; end = bytes.indexOf(LF, start)) {
      const entry = this.#chain.take(bytes.subarray(start, end + 1));
      this.#wholeBytes += end + 1 - start;
      start = end + 1;
      this.#listener.onEntry(entry);
    }
    const isAll = this.#wholeBytes + (bytes.length - start) >= size;
    const tail = bytes.subarray(start);
    if (isAll) this.#requireTail(tail);
    // A piece without the end of a line holds part of a long one.
    this.#pieceBytes = start > 0 || isAll ? PIECE_BYTES : this.#pieceBytes * 2;
    return !isAll;
  }

  #requireTail(tail: Uint8Array): void {
    if (tail.length === 0) return;
    this.#chain.requireTail(tail);
    // No line is that long: it is refused as what it is, and not waited for.
    if (tail.length > LINE_BYTES_MAX + 1) this.#chain.take(tail);
  }

  #bytesAt(count: number): Uint8Array {
    const bytes = Buffer.alloc(count);
    const taken = readSync(this.#file, bytes, 0, count, this.#wholeBytes);
    return bytes.subarray(0, taken);
  }

  #retell(): void {
    this.#chain = new LineChain();
    this.#wholeBytes = 0;
    this.#listener.onRetold();
  }
}

/** Whether the file read from its beginning is in order: then what was seen of it has been cut back. */
function holds(path: string): boolean {
  try {
    return readJournal(path).entries.length > 0;
  } catch (error) {
    if (error instanceof JournalReadError) return false;
    throw error;
  }
}

function statOrNull(path: string): Stats | null {
  try {
    return statSync(path);
  } catch (error) {
    if (codeOf(error) === "ENOENT" || codeOf(error) === "ENOTDIR") return null;
    throw unreadable(path, error);
  }
}
