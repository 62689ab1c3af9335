/**
 * `holdfast release`: the draft of a run into a record with a number and a seal, in a folder of its own
 * beside the run's journal. What was released is never written over; a correction is a new record.
 */
import { statSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { createRealClock } from "../clock/real-clock.ts";
import { JournalReadError } from "../journal/journal-fault.ts";
import { codeOf, messageOf } from "../journal/system-error.ts";
import type { AcceptanceRecord, Correction } from "../record/acceptance-record.ts";
import type { PageFacts } from "../record/page/page-facts.ts";
import { releasedRecord } from "../record/release-record.ts";
import { recordFiles } from "../record/seal/derived-files.ts";
import { type SealKey, sealKeyOf } from "../record/seal/seal-key.ts";
import { sealSet } from "../record/seal/seal-set.ts";
import { JOURNAL } from "../record/seal/set-files.ts";
import { verifySet } from "../record/seal/verify-set.ts";
import { KeyError, secretKey } from "../store/key-folder.ts";
import { SetWriter } from "../store/set-folder.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { indexEndedRuns } from "./history/index-ended-runs.ts";
import { packageVersion } from "./package-folder.ts";
import { type RecordedRun, recordedRun } from "./recorded-run.ts";
import { correctionOf } from "./seal/correction.ts";
import { keysFolder } from "./seal/known-keys.ts";
import { type FilesToSeal, filesToSeal } from "./seal/release-files.ts";
import { namedRecord, releasedFolders, releasedPath } from "./seal/released-folders.ts";
import { UsageError } from "./usage-error.ts";

export interface RawReleaseOptions {
  readonly by?: string;
  readonly corrects?: string;
  readonly why?: string;
  readonly keyName?: string;
  readonly keys?: string;
}

/** A name or a reason is a line, not a letter. */
const WORDS_MAX = 500;
/** A run writes its journal about once a second; one that was not closed and is younger may go on. */
const STILL_WRITTEN_MS = 60_000;

/** @throws UsageError when it cannot be released as asked; then nothing was written */
export async function releaseCommand(
  path: string,
  raw: RawReleaseOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const run = runFolder(path);
  const by = line(raw.by, "--by");
  const now = createRealClock().wallTime();
  const drawn = endedRun(run, now);
  const draft = drawn.record;
  const count = (releasedFolders(run).at(-1)?.count ?? 0) + 1;
  const corrects = await correctionOf(run, { corrects: raw.corrects, why: line(raw.why, "--why") });
  const key = await keyOf(raw);
  const files = filesToSeal(run, draft.files);
  const record = releasedRecord(
    draft,
    {
      by,
      at: now,
      program: `holdfast ${packageVersion()}`,
      key: key.thumbprint,
      corrects,
      notAttached: files.notAttached,
    },
    count,
  );
  const target = releasedPath(run, count);
  await writeSet({ run, target, record, facts: drawn.facts, files, key });
  tellReleased({ target, record, files, corrects }, io);
  const unindexed = await indexEndedRuns(dirname(resolve(run)), [basename(resolve(run))]);
  if (unindexed !== null) io.error(unindexed);
  return EXIT.pass;
}

function runFolder(path: string): string {
  const named = namedRecord(path);
  if (named.kind === "run") return named.folder;
  throw new UsageError(
    `Expected the folder of a run, got "${path}", which is released already. A released record is never written over: name the run, with --corrects ${path} --why TEXT.`,
  );
}

/** @throws UsageError when the words would not stand on one line */
function line(words: string | undefined, option: string): string | null {
  if (words === undefined) return null;
  const text = words.trim();
  if (text !== "" && text.length <= WORDS_MAX && !/[\p{Cc}\p{Cs}]/u.test(text)) return text;
  throw new UsageError(
    `Expected ${option} as one line of at most ${WORDS_MAX} letters, got ${JSON.stringify(words.slice(0, 40))}.`,
  );
}

function endedRun(run: string, now: string): RecordedRun {
  const path = join(run, JOURNAL);
  const drawn = drawnFrom(path);
  const { closed, opened } = drawn.record;
  if (closed === null && Date.parse(now) - statSync(path).mtimeMs < STILL_WRITTEN_MS) {
    throw new UsageError(
      `Expected a run that has ended, ${path} was written to within the last minute and was never closed. Release it when it has ended.`,
    );
  }
  const ended = closed ?? opened;
  if (Date.parse(now) < Date.parse(ended)) {
    throw new UsageError(
      `Expected a clock at or after the end of the run, ${ended}, this computer's says ${now}. Set the clock, then release.`,
    );
  }
  return drawn;
}

function drawnFrom(path: string): RecordedRun {
  try {
    return recordedRun(path);
  } catch (error) {
    if (error instanceof JournalReadError || error instanceof RangeError) {
      throw new UsageError(`${path} cannot be released: ${error.message}`);
    }
    throw error;
  }
}

async function keyOf({ keys, keyName }: RawReleaseOptions): Promise<SealKey> {
  const folder = keysFolder(keys);
  try {
    const key = await sealKeyOf(secretKey(folder, keyName ?? null));
    if (typeof key !== "string") return key;
    throw new UsageError(
      `Expected a secret Ed25519 key as PEM in ${folder}, got ${key}. Make one: holdfast key make NAME`,
    );
  } catch (error) {
    if (error instanceof KeyError) throw new UsageError(error.message);
    throw error;
  }
}

interface SetToWrite {
  readonly run: string;
  readonly target: string;
  readonly record: AcceptanceRecord;
  readonly facts: PageFacts;
  readonly files: FilesToSeal;
  readonly key: SealKey;
}

/** Everything beside its place, sealed and verified from the disk, and only then in its place. */
async function writeSet({ run, target, record, facts, files, key }: SetToWrite): Promise<void> {
  const writer = writerAt(target);
  try {
    for (const name of files.names) writer.copy(name, join(run, name));
    for (const [name, bytes] of recordFiles(record, facts)) writer.put(name, bytes);
    for (const [name, bytes] of await sealSet(writer.files(), key)) writer.put(name, bytes);
    const { findings } = await verifySet(writer.files(), { known: [key], asked: key });
    const [first] = findings;
    if (first !== undefined) throw new Error(`what was just sealed does not verify: ${first.text}`);
    writer.commit();
  } catch (error) {
    writer.abandon();
    throw new Error(
      `Expected to write the record ${target}, but it failed (${messageOf(error)}). Nothing is released; free the disk and release again.`,
      { cause: error },
    );
  }
}

function writerAt(target: string): SetWriter {
  try {
    return new SetWriter(target);
  } catch (error) {
    if (codeOf(error) !== "EEXIST") throw error;
    throw new UsageError(
      `Expected nobody else to release this run, but ${target}.new is there: another is at it, or was cut short. Remove that folder when nobody is.`,
    );
  }
}

function tellReleased(
  {
    target,
    record,
    files,
    corrects,
  }: Pick<SetToWrite, "target" | "record" | "files"> & { readonly corrects: Correction | null },
  io: CheckIo,
): void {
  io.out(`Record ${record.number} is released: ${record.verdict.toUpperCase()}, in ${target}`);
  if (corrects !== null)
    io.out(`It takes the place of record ${corrects.number}, which stays as it is.`);
  io.out(`Sealed with key ${record.release?.key}.`);
  for (const { role, name } of files.notAttached) {
    io.error(
      `The ${role} file ${name} is no longer as it was in this run: the record names it by hash alone.`,
    );
  }
  for (const sentence of files.leftOut) io.error(sentence);
  io.out(`Next: holdfast verify ${target}; hand the whole folder on.`);
}
