/** A run's sealed entries, and nothing else, into its acceptance record. */
import type { JournalEntry } from "../events/events.ts";
import type { AcceptanceRecord } from "./acceptance-record.ts";
import { RecordFold } from "./record-fold.ts";

/**
 * The record of a run. A run that was cut off has one too; its gaps say so.
 *
 * @param entries  every sealed entry, in order
 * @param tornLine number of a torn last line that was dropped, from 1
 * @throws RangeError when there is no entry that opens the run
 */
export function buildRecord(
  entries: Iterable<JournalEntry>,
  tornLine: number | null = null,
): AcceptanceRecord {
  const fold = new RecordFold();
  for (const entry of entries) fold.take(entry);
  return fold.record(tornLine);
}
