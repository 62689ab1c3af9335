/** A whole journal in memory, for one that is known to be short; a long one is scanned. */
import type { JournalEntry } from "../events/events.ts";
import { type JournalEnd, JournalScanner, scanJournal } from "./scan-journal.ts";

/** What a journal holds that can be trusted. */
export interface SealedJournal extends JournalEnd {
  readonly entries: readonly JournalEntry[];
}

/**
 * Read and verify a journal file.
 *
 * @throws JournalReadError
 */
export function readJournal(path: string): SealedJournal {
  const entries: JournalEntry[] = [];
  const end = scanJournal(path, (entry) => entries.push(entry));
  return { entries, ...end };
}

/**
 * Verify the bytes of a journal.
 *
 * @throws JournalReadError
 */
export function parseJournal(bytes: Uint8Array): SealedJournal {
  const entries: JournalEntry[] = [];
  const scanner = new JournalScanner((entry) => entries.push(entry));
  if (bytes.length > 0) scanner.take(bytes);
  return { entries, ...scanner.end() };
}
