/**
 * The chain of a journal, line by line: each line's own check, its place in the sequence, its link to
 * the line before, then its event. The same for a file that is whole and for one that still grows.
 */
import { JOURNAL_FORMAT, JOURNAL_VERSION, type JournalEntry } from "../events/events.ts";
import { parseEvent } from "./event.schema.ts";
import { JournalReadError, type JournalReadErrorCode } from "./journal-fault.ts";
import { checkHolds, HASH_OF_NOTHING, sha256Hex } from "./line.ts";

/** The first line carries the whole plan and is the longest. */
export const LINE_BYTES_MAX = 4 * 1024 * 1024;
/** How every journal begins; tells a damaged journal from a file of another kind. */
const OPENING = '{"n":0,"ms":';

export class LineChain {
  #lines = 0;
  #lastHash = HASH_OF_NOTHING;
  #lastMs = 0;

  /** Whole lines that held. */
  get lines(): number {
    return this.#lines;
  }

  /** SHA-256 of the last whole line. */
  get lastHash(): string {
    return this.#lastHash;
  }

  /**
   * The entry of the next line; after a throw nothing has changed.
   *
   * @param line the raw bytes with their LF
   * @throws JournalReadError
   */
  take(line: Uint8Array): JournalEntry {
    const number = this.#lines + 1;
    const entry = parseLine(line.subarray(0, -1), number);
    requireLink(entry, { number, before: this.#lastHash, lastMs: this.#lastMs });
    this.#lines = number;
    this.#lastHash = sha256Hex(line);
    this.#lastMs = entry.ms;
    return entry;
  }

  /**
   * Bytes after the last LF: torn, or still being written.
   *
   * @throws JournalReadError when they cannot be the beginning of a journal
   */
  requireTail(tail: Uint8Array): void {
    if (this.#lines === 0 && !OPENING.startsWith(latin(tail.subarray(0, OPENING.length)))) {
      throw notAJournal();
    }
  }
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
