/** What can go wrong with a journal, while it is written and when it is read back. */

export type JournalFaultCode =
  /** A file of that name is there already; a journal is never written over. */
  | "JOURNAL_EXISTS"
  /** No such folder, not permitted, read-only medium and the like. */
  | "JOURNAL_NOT_OPENED"
  /** Disk or quota full. What was sealed before is safe; sealing may be tried again. */
  | "JOURNAL_DISK_FULL"
  /** The medium failed in writing or syncing; nothing further is sealed in this file. */
  | "JOURNAL_WRITE_FAILED"
  | "JOURNAL_CLOSED";

/** Sealing failed. Lines sealed before stay as they are; the run cannot count anything after. */
export class JournalFault extends Error {
  readonly code: JournalFaultCode;
  readonly path: string;
  /** Lines sealed in the file before the fault. */
  readonly sealedLines: number;

  constructor(
    code: JournalFaultCode,
    message: string,
    facts: { readonly path: string; readonly sealedLines: number; readonly cause?: unknown },
  ) {
    super(message, { cause: facts.cause });
    this.name = "JournalFault";
    this.code = code;
    this.path = facts.path;
    this.sealedLines = facts.sealedLines;
  }
}

export type JournalReadErrorCode =
  | "JOURNAL_UNREADABLE"
  | "JOURNAL_EMPTY"
  | "JOURNAL_TOO_LARGE"
  | "JOURNAL_NOT_A_JOURNAL"
  | "JOURNAL_NEWER"
  /** A line's bytes do not agree with its own check. */
  | "JOURNAL_ALTERED"
  /** A line does not continue the line before it. */
  | "JOURNAL_CHAIN_BROKEN"
  /** The line is sealed, but its event is none that this version knows. */
  | "JOURNAL_EVENT_UNKNOWN";

/** A journal that cannot be trusted or read; `line` counts from 1, null when no line is to blame. */
export class JournalReadError extends Error {
  readonly code: JournalReadErrorCode;
  readonly line: number | null;

  constructor(
    code: JournalReadErrorCode,
    message: string,
    facts: { readonly line: number | null; readonly cause?: unknown },
  ) {
    super(message, { cause: facts.cause });
    this.name = "JournalReadError";
    this.code = code;
    this.line = facts.line;
  }
}
