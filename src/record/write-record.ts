/** The record as a file. */
import { writeFileAtomically } from "../store/atomic-file.ts";
import type { AcceptanceRecord } from "./acceptance-record.ts";
import { recordLines } from "./record-lines.ts";

export class RecordNotWritten extends Error {
  readonly code = "RECORD_NOT_WRITTEN";
  readonly path: string;

  constructor(path: string, cause: unknown) {
    const why = cause instanceof Error ? cause.message : String(cause);
    super(
      `Expected to write the record ${path}, but it failed (${why}). The journal beside it holds ` +
        "everything; free the disk and make the record again from it.",
      { cause },
    );
    this.name = "RecordNotWritten";
    this.path = path;
  }
}

/** The record's text: JSON, two spaces, LF at the end. The same record gives the same bytes. */
export function recordText(record: AcceptanceRecord): string {
  return `${JSON.stringify(record, null, 2)}\n`;
}

/** The text that a person reads, LF at its end. */
export function recordSheet(record: AcceptanceRecord): string {
  return `${recordLines(record).join("\n")}\n`;
}

/**
 * Write a record whole or not at all.
 *
 * @throws RecordNotWritten
 */
export function writeRecord(path: string, record: AcceptanceRecord): void {
  write(path, recordText(record));
}

/**
 * Write a record's page whole or not at all.
 *
 * @throws RecordNotWritten
 */
export function writeRecordPage(path: string, record: AcceptanceRecord): void {
  write(path, recordSheet(record));
}

/** Write a page made by `recordPage` whole or not at all. @throws RecordNotWritten */
export function writeHtmlPage(path: string, html: string): void {
  write(path, html);
}

function write(path: string, text: string): void {
  try {
    writeFileAtomically(path, text);
  } catch (error) {
    throw new RecordNotWritten(path, error);
  }
}
