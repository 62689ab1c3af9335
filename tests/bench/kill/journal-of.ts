/** The one journal below a folder of runs, as it stands on disk. */
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import type { JournalEntry } from "../../../src/events/events.ts";
import { scanJournal } from "../../../src/journal/scan-journal.ts";

/** Null until there is one. */
export function journalBelow(runs: string): string | null {
  if (!existsSync(runs)) return null;
  const found = readdirSync(runs)
    .map((name) => join(runs, name, "journal.ndjson"))
    .find((path) => existsSync(path));
  return found ?? null;
}

export function sizeOf(path: string | null): number {
  return path === null ? 0 : (statSync(path, { throwIfNoEntry: false })?.size ?? 0);
}

/** How often some text stands in it now; looked for often, and so without reading its lines. */
export function timesIn(path: string | null, text: string): number {
  return sizeOf(path) === 0 || path === null
    ? 0
    : readFileSync(path, "latin1").split(text).length - 1;
}

/**
 * None of a journal that was created and has no line yet.
 *
 * @throws JournalReadError when it is not whole up to a torn last line
 */
export function entriesOf(path: string): JournalEntry[] {
  const entries: JournalEntry[] = [];
  if (sizeOf(path) === 0) return entries;
  scanJournal(path, (entry) => entries.push(entry));
  return entries;
}
