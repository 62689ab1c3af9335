/**
 * Reading a journal back: format and version first, then every line's own check, its place in the
 * sequence and its link to the line before, then the event. A last line without its LF is torn: it
 * is dropped and reported. Anything else that does not hold is an error that names the line.
 */
import { closeSync, fstatSync, openSync, readFileSync } from "node:fs";
import type { JournalEntry } from "../events/events.ts";
import { JournalReadError } from "./journal-fault.ts";
import { LineChain } from "./line-chain.ts";
import { messageOf } from "./system-error.ts";

/** What a journal holds that can be trusted. */
export interface SealedJournal {
  readonly entries: readonly JournalEntry[];
  /** SHA-256 of the last whole line. */
  readonly lastHash: string;
  /** The torn last line that was dropped, counted from 1; null when the file ends cleanly. */
  readonly torn: { readonly line: number; readonly bytes: number } | null;
}

/** A night is some tens of megabytes; beyond this the file is something else. */
const JOURNAL_BYTES_MAX = 512 * 1024 * 1024;
const LF = 0x0a;

/**
 * Read and verify a journal file.
 *
 * @throws JournalReadError
 */
export function readJournal(path: string): SealedJournal {
  return parseJournal(readBounded(path));
}

function readBounded(path: string): Uint8Array {
  let file: number | null = null;
  try {
    file = openSync(path, "r");
    requireJournalSize(path, fstatSync(file).size);
    return readFileSync(file);
  } catch (error) {
    if (error instanceof JournalReadError) {
      throw error;
    }
    throw unreadable(path, error);
  } finally {
    if (file !== null) {
      closeSync(file);
    }
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

/**
 * Verify the bytes of a journal.
 *
 * @throws JournalReadError
 */
export function parseJournal(bytes: Uint8Array): SealedJournal {
  if (bytes.length === 0) {
    throw new JournalReadError(
      "JOURNAL_EMPTY",
      "Expected a journal, got an empty file. Name another file.",
      { line: null },
    );
  }
  const entries: JournalEntry[] = [];
  const chain = new LineChain();
  let start = 0;
  while (start < bytes.length) {
    const end = bytes.indexOf(LF, start);
    if (end === -1) {
      const tail = bytes.subarray(start);
      chain.requireTail(tail);
      const torn = { line: chain.lines + 1, bytes: tail.length };
      return { entries, lastHash: chain.lastHash, torn };
    }
    entries.push(chain.take(bytes.subarray(start, end + 1)));
    start = end + 1;
  }
  return { entries, lastHash: chain.lastHash, torn: null };
}
