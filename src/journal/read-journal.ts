/**
 * Reading a journal back: format and version first, then every line's own check, its place in the
 * sequence and its link to the line before, then the event. A last line without its LF is torn: it
 * is dropped and reported. Anything else that does not hold is an error that names the line.
 */
import { closeSync, fstatSync, openSync, readFileSync } from "node:fs";
import { JOURNAL_FORMAT, JOURNAL_VERSION, type JournalEntry } from "../events/events.ts";
import { parseEvent } from "./event.schema.ts";
import { JournalReadError, type JournalReadErrorCode } from "./journal-fault.ts";
import { checkHolds, HASH_OF_NOTHING, sha256Hex } from "./line.ts";

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
/** The first line carries the whole plan and is the longest. */
const LINE_BYTES_MAX = 4 * 1024 * 1024;
const LF = 0x0a;
/** How every journal begins; tells a damaged journal from a file of another kind. */
const OPENING = '{"n":0,"ms":';

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
    const { size } = fstatSync(file);
    if (size > JOURNAL_BYTES_MAX) {
      throw new JournalReadError(
        "JOURNAL_TOO_LARGE",
        `Expected a journal of at most ${JOURNAL_BYTES_MAX} bytes, ${path} has ${size}. ` +
          "Name a journal file of a run.",
        { line: null },
      );
    }
    return readFileSync(file);
  } catch (error) {
    if (error instanceof JournalReadError) {
      throw error;
    }
    const why = error instanceof Error ? error.message : String(error);
    throw new JournalReadError(
      "JOURNAL_UNREADABLE",
      `Expected to read the journal ${path}, but it failed (${why}). Check the name and the rights.`,
      { line: null, cause: error },
    );
  } finally {
    if (file !== null) {
      closeSync(file);
    }
  }
}

/**
 * Verify the bytes of a journal.
 *
 * @throws JournalReadError
 */
export function parseJournal(bytes: Uint8Array): SealedJournal {
  if (bytes.length === 0) {
    throw failure(
      "JOURNAL_EMPTY",
      null,
      "Expected a journal, got an empty file. Name another file.",
    );
  }
  const entries: JournalEntry[] = [];
  let start = 0;
  let before = HASH_OF_NOTHING;
  let lastMs = 0;
  while (start < bytes.length) {
    const end = bytes.indexOf(LF, start);
    const number = entries.length + 1;
    if (end === -1) {
      return { entries, lastHash: before, torn: tornTail(bytes.subarray(start), number) };
    }
    const entry = parseLine(bytes.subarray(start, end), number);
    requireLink(entry, { number, before, lastMs });
    entries.push(entry);
    before = sha256Hex(bytes.subarray(start, end + 1));
    lastMs = entry.ms;
    start = end + 1;
  }
  return { entries, lastHash: before, torn: null };
}

function tornTail(tail: Uint8Array, number: number): { line: number; bytes: number } {
  if (number === 1 && !OPENING.startsWith(latin(tail.subarray(0, OPENING.length)))) {
    throw notAJournal();
  }
  return { line: number, bytes: tail.length };
}

function parseLine(bytes: Uint8Array, number: number): JournalEntry {
  if (number === 1 && latin(bytes.subarray(0, OPENING.length)) !== OPENING) {
    throw notAJournal();
  }
  if (bytes.length > LINE_BYTES_MAX) {
    throw altered(number, `it has ${bytes.length} bytes, at most ${LINE_BYTES_MAX} are written`);
  }
  const text = Buffer.from(bytes).toString("utf8");
  const whole = checkHolds(text, bytes);
  const line = parsedJson(text);
  if (number === 1) {
    requireVersion(line, whole);
  }
  if (!whole || !isRecord(line)) {
    throw altered(number, "its bytes do not agree with its own check");
  }
  const { n, ms, before } = line;
  if (!isCount(n) || !isCount(ms) || typeof before !== "string") {
    throw altered(number, "it lacks its number, time or link");
  }
  const parsed = parseEvent(line["event"]);
  if (!parsed.known) {
    throw failure(
      "JOURNAL_EVENT_UNKNOWN",
      number,
      `Expected an event of ${JOURNAL_FORMAT} version ${JOURNAL_VERSION} in line ${number}, ` +
        `${parsed.problem}. Read it with the program that wrote it.`,
    );
  }
  return { n, ms, before, event: parsed.event };
}

function requireVersion(line: unknown, whole: boolean): void {
  const event = isRecord(line) ? line["event"] : undefined;
  if (!isRecord(event)) {
    throw altered(1, "it does not hold an event");
  }
  const version = event["version"];
  if (whole && (event["kind"] !== "run-opened" || event["format"] !== JOURNAL_FORMAT)) {
    throw notAJournal();
  }
  if (typeof version === "number" && version > JOURNAL_VERSION) {
    throw failure(
      "JOURNAL_NEWER",
      1,
      `Expected ${JOURNAL_FORMAT} version ${JOURNAL_VERSION} or older, line 1 says version ` +
        `${version}${whole ? "" : ", or was altered"}. Read it with a newer holdfast.`,
    );
  }
}

function requireLink(
  entry: JournalEntry,
  link: { readonly number: number; readonly before: string; readonly lastMs: number },
): void {
  const { number } = link;
  if (entry.n !== number - 1) {
    throw broken(number, `it carries number ${entry.n}, expected ${number - 1}`);
  }
  if (entry.before !== link.before) {
    throw broken(number, `it does not continue line ${number - 1}`);
  }
  if (entry.ms < link.lastMs) {
    throw broken(number, `its time ${entry.ms} ms lies before ${link.lastMs} ms`);
  }
}

function parsedJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    // The caller reports the line; the parser's own message would name a column of a hash.
    return undefined;
  }
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function isCount(value: unknown): value is number {
  return Number.isSafeInteger(value) && Number(value) >= 0;
}

function latin(bytes: Uint8Array): string {
  return Buffer.from(bytes).toString("latin1");
}

function notAJournal(): JournalReadError {
  return failure(
    "JOURNAL_NOT_A_JOURNAL",
    1,
    `Expected ${JOURNAL_FORMAT} in line 1, got something else. Name the journal file of a run.`,
  );
}

function altered(line: number, why: string): JournalReadError {
  return failure(
    "JOURNAL_ALTERED",
    line,
    `Expected line ${line} as it was sealed, but ${why}. Nothing from this line on can be trusted.`,
  );
}

function broken(line: number, why: string): JournalReadError {
  return failure(
    "JOURNAL_CHAIN_BROKEN",
    line,
    `Expected an unbroken chain, but in line ${line} ${why}. ` +
      "Lines were changed, lost or put in another order.",
  );
}

function failure(
  code: JournalReadErrorCode,
  line: number | null,
  message: string,
): JournalReadError {
  return new JournalReadError(code, message, { line });
}
