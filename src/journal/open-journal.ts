/**
 * Writing a journal: append, then seal.
 *
 * `append` only gathers. `seal` writes everything gathered in one go, waits until it is on the
 * medium, and only then tells the subscribers: what nobody could lose is what counts. Both are
 * synchronous, so that emulated time can stand still meanwhile. `sealBeside` does the same while the
 * program goes on, where time is real: a disk may take a second, and whoever feeds a dead-man has
 * none to spare. A sealed line is never touched again; bytes of a seal that failed half-way are cut
 * off, or left as a torn last line.
 */
import type { Clock } from "../clock/clock.ts";
import type { JournalEntry, RunEvent } from "../events/events.ts";
import { JournalFault } from "./journal-fault.ts";
import { continueJournalFile, createJournalFile, type JournalFile } from "./journal-file.ts";
import { eventJson, HASH_OF_NOTHING, lineOf, sha256Hex } from "./line.ts";
import { codeOf, isFrom, isFull, messageOf } from "./system-error.ts";

export interface Journal {
  readonly path: string;
  /** Lines that are on the medium. */
  readonly sealedLines: number;
  /** SHA-256 of the last sealed line. */
  readonly lastHash: string;
  /** The fault that stopped sealing, until a later seal succeeds. */
  readonly fault: JournalFault | null;
  /** Events gathered and not sealed: to be shown after a fault as what it is, never counted. */
  readonly unsealed: readonly JournalEntry[];
  /**
   * Gather an event. Never fails because of the disk, so that the way to safe outputs can use it.
   *
   * @throws TypeError when the event holds something JSON cannot carry
   * @throws RangeError when the clock ran backwards, or nothing was sealed for too many events
   */
  append(event: RunEvent): void;
  /**
   * Write what was gathered, sync, tell the subscribers. Nothing gathered is no work.
   *
   * @throws JournalFault; after `JOURNAL_DISK_FULL` a later seal may succeed, after the others not
   */
  seal(): void;
  /**
   * Begin to seal what was gathered and return; subscribers are told when it is done. Where the journal has no
   * time to go on meanwhile this is `seal`.
   *
   * @param onFault told of a fault that comes later
   * @throws JournalFault as `seal` does
   */
  sealBeside(onFault: (fault: JournalFault) => void): void;
  /** Be told of every entry once it is sealed. Returns the way to unsubscribe. */
  subscribe(listener: (entry: JournalEntry) => void): () => void;
  /** Close the file. Events not sealed are not written. */
  close(): void;
}

export interface JournalOptions {
  readonly path: string;
  readonly clock: Clock;
  /** Reading of the clock at which the run was opened: `ms` counts from it. */
  readonly startMs: number;
  /** How the file is created or opened again; the disk unless a test says otherwise. */
  readonly createFile?: (path: string) => JournalFile;
  /** What is sealed in it already, when it is written on; missing creates one. */
  readonly after?: SealedSoFar;
  /** Time goes on while the disk works, so that sealing beside the program gains some. */
  readonly sealsBeside?: boolean;
}

/** The sealed part of a journal that is written on. */
export interface SealedSoFar {
  readonly lines: number;
  readonly bytes: number;
  readonly lastHash: string;
  readonly lastMs: number;
}

/** Events a run may gather without sealing. A run seals several times a second. */
const UNSEALED_MAX = 4096;

/**
 * Create a journal.
 *
 * @throws JournalFault `JOURNAL_EXISTS` or `JOURNAL_NOT_OPENED`
 */
export function openJournal(options: JournalOptions): Journal {
  return new FileJournal(options);
}

interface Gathered {
  readonly entry: JournalEntry;
  readonly line: Uint8Array;
  readonly hash: string;
}

class FileJournal implements Journal {
  readonly path: string;
  readonly #clock: Clock;
  readonly #startMs: number;
  readonly #file: JournalFile;
  readonly #listeners = new Set<(entry: JournalEntry) => void>();
  readonly #sealsBeside: boolean;
  /** Not sealed, in order: those that are written come first. */
  #gathered: Gathered[] = [];
  #written = 0;
  #isSyncing = false;
  /** How often written bytes were cut off again: a sync that was under way then says nothing of what is there now. */
  #cuts = 0;
  /** Asked for a seal while one was under way. */
  #asksAgain = false;
  #sealedLines = 0;
  #sealedBytes = 0;
  #lastHash = HASH_OF_NOTHING;
  #lastMs = 0;
  #fault: JournalFault | null = null;
  #closed = false;

  constructor({
    path,
    clock,
    startMs,
    after,
    createFile = fileFor(after),
    sealsBeside = false,
  }: JournalOptions) {
    this.path = path;
    this.#sealsBeside = sealsBeside;
    this.#clock = clock;
    this.#startMs = startMs;
    if (after !== undefined) {
      this.#sealedLines = after.lines;
      this.#sealedBytes = after.bytes;
      this.#lastHash = after.lastHash;
      this.#lastMs = after.lastMs;
    }
    try {
      this.#file = createFile(path);
    } catch (error) {
      throw after === undefined ? notOpened(path, error) : notReopened(after, path, error);
    }
  }

  get sealedLines(): number {
    return this.#sealedLines;
  }

  get lastHash(): string {
    return this.#lastHash;
  }

  get fault(): JournalFault | null {
    return this.#fault;
  }

  get unsealed(): readonly JournalEntry[] {
    return this.#gathered.map(({ entry }) => entry);
  }

  append(event: RunEvent): void {
    if (this.#gathered.length >= UNSEALED_MAX) {
      if (this.#fault !== null) {
        return;
      }
      throw new RangeError(
        `Expected a seal within ${UNSEALED_MAX} events, got none. Seal the journal.`,
      );
    }
    const ms = Math.round(this.#clock.nowMs() - this.#startMs);
    if (ms < this.#lastMs) {
      throw new RangeError(`Expected a clock at or after ${this.#lastMs} ms, got ${ms} ms.`);
    }
    const last = this.#gathered.at(-1);
    const eventText = eventJson(event);
    const entry: JournalEntry = {
      n: last === undefined ? this.#sealedLines : last.entry.n + 1,
      ms,
      before: last === undefined ? this.#lastHash : last.hash,
      // Subscribers get what the file holds, not the caller's object: live and replay are one.
      event: JSON.parse(eventText) as RunEvent,
    };
    const line = Buffer.from(lineOf(entry, eventText), "utf8");
    this.#gathered.push({ entry, line, hash: sha256Hex(line) });
    this.#lastMs = ms;
  }

  seal(): void {
    if (this.#gathered.length === 0) return;
    this.#assertSound();
    this.#write();
    try {
      this.#file.sync();
    } catch (error) {
      throw this.#notConfirmed(error);
    }
    this.#confirm(this.#gathered.length);
  }

  sealBeside(onFault: (fault: JournalFault) => void): void {
    const { syncBeside } = this.#file;
    if (!this.#sealsBeside || syncBeside === undefined) {
      this.seal();
      return;
    }
    if (this.#gathered.length === 0) return;
    this.#assertSound();
    this.#write();
    if (this.#isSyncing) {
      this.#asksAgain = true;
      return;
    }
    this.#isSyncing = true;
    // Lines that a plain seal confirms meanwhile are no longer among those gathered.
    const upTo = this.#sealedLines + this.#gathered.length;
    const cuts = this.#cuts;
    syncBeside((error) => {
      this.#isSyncing = false;
      if (this.#closed) return;
      if (error != null) {
        onFault(this.#notConfirmed(error));
        return;
      }
      if (cuts === this.#cuts) this.#confirm(Math.max(0, upTo - this.#sealedLines));
      if (!this.#asksAgain) return;
      this.#asksAgain = false;
      try {
        this.sealBeside(onFault);
      } catch (fault) {
        if (!(fault instanceof JournalFault)) throw fault;
        onFault(fault);
      }
    });
  }

  #assertSound(): void {
    if (this.#closed) {
      throw this.#faultOf("JOURNAL_CLOSED", "the journal is closed", undefined);
    }
    if (this.#fault !== null && this.#fault.code !== "JOURNAL_DISK_FULL") throw this.#fault;
  }

  /** The first so many gathered lines are on the medium: from here on they count. */
  #confirm(count: number): void {
    const batch = this.#gathered.slice(0, count);
    this.#fault = null;
    this.#gathered = this.#gathered.slice(count);
    this.#written -= count;
    this.#sealedLines += batch.length;
    this.#sealedBytes += batch.reduce((sum, { line }) => sum + line.length, 0);
    this.#lastHash = batch.at(-1)?.hash ?? this.#lastHash;
    for (const { entry } of batch) {
      for (const listener of this.#listeners) listener(entry);
    }
  }

  subscribe(listener: (entry: JournalEntry) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  close(): void {
    if (!this.#closed) {
      this.#closed = true;
      this.#file.close();
    }
  }

  /** Hand the system what is gathered and not written. */
  #write(): void {
    const bytes = Buffer.concat(this.#gathered.slice(this.#written).map(({ line }) => line));
    let taken = 0;
    try {
      while (taken < bytes.length) {
        const more = this.#file.write(bytes.subarray(taken));
        if (more <= 0) {
          throw new Error(`Expected the disk to take ${bytes.length - taken} bytes, it took none.`);
        }
        taken += more;
      }
    } catch (error) {
      const clean = this.#cutBack();
      this.#fault = this.#faultOf(
        clean && isFull(error) ? "JOURNAL_DISK_FULL" : "JOURNAL_WRITE_FAILED",
        isFull(error) ? "the disk is full" : `writing failed (${messageOf(error)})`,
        error,
      );
      throw this.#fault;
    }
    this.#written = this.#gathered.length;
  }

  /** After a failed sync the system may have dropped the pages: trying again would prove nothing. */
  #notConfirmed(error: unknown): JournalFault {
    this.#cutBack();
    this.#fault = this.#faultOf(
      "JOURNAL_WRITE_FAILED",
      `the disk did not confirm what was written (${messageOf(error)})`,
      error,
    );
    return this.#fault;
  }

  /** Drop bytes beyond the last sealed line; false when that fails and a torn line may stay. */
  #cutBack(): boolean {
    this.#written = 0;
    this.#cuts += 1;
    try {
      this.#file.truncate(this.#sealedBytes);
      return true;
    } catch {
      // The reader drops a torn last line and reports it, so the sealed lines stay readable.
      return false;
    }
  }

  #faultOf(code: JournalFault["code"], what: string, cause: unknown): JournalFault {
    return new JournalFault(
      code,
      `Expected to seal the journal ${this.path}, but ${what}. ` +
        `Its first ${this.#sealedLines} lines are safe; nothing after them counts. ` +
        "Free or change the disk and run again.",
      { path: this.path, sealedLines: this.#sealedLines, cause },
    );
  }
}

function fileFor(after: SealedSoFar | undefined): (path: string) => JournalFile {
  return after === undefined ? createJournalFile : (path) => continueJournalFile(path, after.bytes);
}

function notReopened({ lines }: SealedSoFar, path: string, error: unknown): JournalFault {
  return new JournalFault(
    "JOURNAL_NOT_OPENED",
    `Expected to write on after the ${lines} sealed lines of ${path}, but it failed (${messageOf(error)}). ` +
      "They are safe. Make the disk and the file writable, then go on again.",
    { path, sealedLines: lines, cause: error },
  );
}

function notOpened(path: string, error: unknown): JournalFault {
  // Making the folder says EEXIST too, when a file stands where a folder should.
  const exists = codeOf(error) === "EEXIST" && !isFrom(error, "mkdir");
  const message = exists
    ? `Expected no file at ${path}, but one is there. A journal is never written over: name another.`
    : `Expected to create the journal ${path}, but it failed (${messageOf(error)}). ` +
      "Check that the folder can be written to.";
  return new JournalFault(exists ? "JOURNAL_EXISTS" : "JOURNAL_NOT_OPENED", message, {
    path,
    sealedLines: 0,
    cause: error,
  });
}
