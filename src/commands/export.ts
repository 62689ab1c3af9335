/** `holdfast export`: readings of a run as CSV, the run as a value change dump. */
import { closeSync, openSync, rmSync, writeSync } from "node:fs";
import type { JournalEntry } from "../events/events.ts";
import { JournalReadError } from "../journal/journal-fault.ts";
import { scanJournal } from "../journal/scan-journal.ts";
import { ReadingsCsv } from "../record/export/readings-csv.ts";
import { VcdWriter } from "../record/export/vcd.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { journalOfRun } from "./journal-of-run.ts";
import { UsageError } from "./usage-error.ts";

export interface RawExportOptions {
  readonly csv?: string;
  readonly vcd?: string;
}

/** Text of one kind as the entries come. */
interface Format {
  readonly begin: () => string;
  readonly take: (entry: JournalEntry) => string;
  readonly end: () => string;
}

/**
 * @param path folder of a run, its journal, or a record beside the journal
 * @returns 0, or 2 when the journal cannot be read: nothing is left of what was begun
 * @throws UsageError when there is no such run, no file was named, or one of them is there already
 */
export function exportCommand(
  path: string,
  { csv, vcd }: RawExportOptions,
  io: CheckIo,
): ExitStatus {
  const journal = journalOfRun(path);
  const wanted = [
    ...(csv === undefined ? [] : [{ place: csv, format: csvFormat() }]),
    ...(vcd === undefined ? [] : [{ place: vcd, format: vcdFormat() }]),
  ];
  if (wanted.length === 0) {
    throw new UsageError("Expected what to write: --csv FILE, --vcd FILE, or both.");
  }
  const files: NewFile[] = [];
  try {
    for (const { place } of wanted) files.push(new NewFile(place));
    const writeAll = (textOf: (format: Format) => string): void => {
      for (const [at, { format }] of wanted.entries()) files[at]?.write(textOf(format));
    };
    writeAll((format) => format.begin());
    scanJournal(journal, (entry) => writeAll((format) => format.take(entry)));
    writeAll((format) => format.end());
    for (const file of files) file.close();
  } catch (error) {
    for (const file of files) file.discard();
    if (!(error instanceof JournalReadError)) throw error;
    io.error(error.message);
    return EXIT.wrongUsage;
  }
  for (const { place } of wanted) io.out(`Written: ${place}`);
  return EXIT.pass;
}

function csvFormat(): Format {
  const rows = new ReadingsCsv();
  return { begin: () => rows.header(), take: (entry) => rows.take(entry), end: () => "" };
}

function vcdFormat(): Format {
  const dump = new VcdWriter();
  return { begin: () => "", take: (entry) => dump.take(entry), end: () => dump.end() };
}

/** Gathered before it is written. */
const PIECE_LETTERS = 256 * 1024;

/** A file that was not there before; a person's own is not overwritten by a slip of the hand. */
class NewFile {
  readonly #path: string;
  readonly #file: number;
  #waiting: string[] = [];
  #letters = 0;
  #isOpen = true;

  /** @throws UsageError */
  constructor(path: string) {
    this.#path = path;
    try {
      this.#file = openSync(path, "wx");
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new UsageError(`Expected a new file to write to at "${path}", but ${why}.`);
    }
  }

  write(text: string): void {
    if (text === "") return;
    this.#waiting.push(text);
    this.#letters += text.length;
    if (this.#letters >= PIECE_LETTERS) this.#flush();
  }

  close(): void {
    this.#flush();
    closeSync(this.#file);
    this.#isOpen = false;
  }

  /** Nothing of it stays: half an export looks like a whole one. */
  discard(): void {
    if (this.#isOpen) closeSync(this.#file);
    this.#isOpen = false;
    rmSync(this.#path, { force: true });
  }

  #flush(): void {
    const bytes = Buffer.from(this.#waiting.join(""), "utf8");
    for (let at = 0; at < bytes.length; ) at += writeSync(this.#file, bytes, at);
    this.#waiting = [];
    this.#letters = 0;
  }
}
