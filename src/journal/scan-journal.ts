/**
 * A journal read entry by entry, so that a run of a million cycles takes no more memory than one of
 * a hundred: format and version first, then every line's own check, its place in the sequence and its
 * link to the line before, then the event. A last line without its LF is torn: it is dropped and
 * reported. Anything else that does not hold is an error that names the line.
 */
import { closeSync, fstatSync, openSync, readSync } from "node:fs";
import type { JournalEntry } from "../events/events.ts";
import { JournalReadError } from "./journal-fault.ts";
import { LINE_BYTES_MAX, LineChain } from "./line-chain.ts";
import { messageOf } from "./system-error.ts";

/** What is known of a journal once every line of it has been told. */
export interface JournalEnd {
  /** Whole lines, and their bytes. */
  readonly lines: number;
  readonly bytes: number;
  /** SHA-256 of the last whole line. */
  readonly lastHash: string;
  /** The torn last line that was dropped, counted from 1; null when the file ends cleanly. */
  readonly torn: { readonly line: number; readonly bytes: number } | null;
}

/** A night is some tens of megabytes; beyond this the file is something else. */
const JOURNAL_BYTES_MAX = 512 * 1024 * 1024;
/** Read in one go. */
const PIECE_BYTES = 1024 * 1024;
const LF = 0x0a;

/**
 * Read and verify a journal file. Entries are told in order, each once it holds; after a throw those
 * told before it have held, and nothing is known of the rest.
 *
 * @throws JournalReadError
 */
export function scanJournal(path: string, onEntry: (entry: JournalEntry) => void): JournalEnd {
  const scanner = new JournalScanner(onEntry);
  const file = opened(path);
  try {
    for (let at = 0; ; ) {
      const piece = pieceAt(path, file, at);
      if (piece.length === 0) return scanner.end();
      at += piece.length;
      scanner.take(piece);
    }
  } finally {
    closeSync(file);
  }
}

function opened(path: string): number {
  let file: number | null = null;
  try {
    file = openSync(path, "r");
    requireJournalSize(path, fstatSync(file).size);
    return file;
  } catch (error) {
    if (file !== null) closeSync(file);
    throw error instanceof JournalReadError ? error : unreadable(path, error);
  }
}

/** In its own memory: the scanner keeps the beginning of a line until its end comes. */
function pieceAt(path: string, file: number, at: number): Uint8Array {
  const piece = Buffer.allocUnsafe(PIECE_BYTES);
  try {
    return piece.subarray(0, readSync(file, piece, 0, PIECE_BYTES, at));
  } catch (error) {
    throw unreadable(path, error);
  }
}

/** Bytes in pieces, cut anywhere, into entries. */
export class JournalScanner {
  readonly #chain = new LineChain();
  readonly #onEntry: (entry: JournalEntry) => void;
  #bytes = 0;
  /** Beginning of a line whose end has not come. */
  #begun: Uint8Array = new Uint8Array();

  constructor(onEntry: (entry: JournalEntry) => void) {
    this.#onEntry = onEntry;
  }

  /** @throws JournalReadError */
  take(piece: Uint8Array): void {
    const bytes = this.#begun.length === 0 ? piece : Buffer.concat([this.#begun, piece]);
    let start = 0;
    for (let end = bytes.indexOf(LF); end !== -1; end = bytes.indexOf(LF, start)) {
      this.#onEntry(this.#chain.take(bytes.subarray(start, end + 1)));
      this.#bytes += end + 1 - start;
      start = end + 1;
    }
    this.#begun = bytes.subarray(start);
    // No line is that long: it is refused as what it is, and not gathered further.
    if (this.#begun.length > LINE_BYTES_MAX + 1) this.#chain.take(this.#begun);
  }

  /** @throws JournalReadError when there was nothing, or what is left cannot be a line begun */
  end(): JournalEnd {
    const { lines, lastHash } = this.#chain;
    const bytes = this.#bytes;
    const tail = this.#begun;
    if (lines === 0 && tail.length === 0) {
      throw new JournalReadError(
        "JOURNAL_EMPTY",
        "Expected a journal, got an empty file. Name another file.",
        { line: null },
      );
    }
    if (tail.length === 0) return { lines, bytes, lastHash, torn: null };
    this.#chain.requireTail(tail);
    return { lines, bytes, lastHash, torn: { line: lines + 1, bytes: tail.length } };
  }
}

/** @throws JournalReadError when no journal is that large */
export function requireJournalSize(path: string, bytes: number): void {
  if (bytes <= JOURNAL_BYTES_MAX) return;
  throw new JournalReadError(
    "JOURNAL_TOO_LARGE",
    `Expected a journal of at most ${JOURNAL_BYTES_MAX} bytes, ${path} has ${bytes}. ` +
      "Name a journal file of a run.",
    { line: null },
  );
}

/** What to throw when the system does not let the file be read. */
export function unreadable(path: string, cause: unknown): JournalReadError {
  return new JournalReadError(
    "JOURNAL_UNREADABLE",
    `Expected to read the journal ${path}, but it failed (${messageOf(cause)}). ` +
      "Check the name and the rights.",
    { line: null, cause },
  );
}
