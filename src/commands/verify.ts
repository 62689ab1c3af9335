/** `holdfast verify`: whether a released record is as it was sealed, and by whom; what was changed if not. */
import { dirname, join, resolve } from "node:path";
import type { AcceptanceRecord } from "../record/acceptance-record.ts";
import { blockBytesFor, digestOf } from "../record/seal/file-digest.ts";
import type { Finding, FindingKind } from "../record/seal/finding.ts";
import type { PublicKey } from "../record/seal/seal-key.ts";
import { JOURNAL } from "../record/seal/set-files.ts";
import { type SetVerdict, verifySet } from "../record/seal/verify-set.ts";
import { KeyError } from "../store/key-folder.ts";
import { openSetFolder } from "../store/set-folder.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { keyInFile } from "./key.ts";
import { type KnownKey, keysFolder, knownKeys } from "./seal/known-keys.ts";
import { namedRecord, releasedFolders } from "./seal/released-folders.ts";
import { UsageError } from "./usage-error.ts";

export interface RawVerifyOptions {
  readonly key?: string;
  readonly keys?: string;
}

/** Gravest first: of several findings the status is that of the first kind here. */
const STATUS_BY_KIND: readonly (readonly [FindingKind, ExitStatus])[] = [
  ["wrong key", EXIT.wrongKey],
  ["not sealed", EXIT.notSealed],
  ["newer", EXIT.newerFormat],
  ["journal", EXIT.journalBroken],
  ["changed", EXIT.notPass],
  ["missing", EXIT.fileMissing],
  ["extra", EXIT.fileExtra],
];

/** Who may have sealed it. */
interface Trust {
  readonly known: readonly KnownKey[];
  /** The key named on the command line; null when none was. */
  readonly asked: PublicKey | null;
}

/**
 * @param path a released record, its folder, or a run with everything that was released of it
 * @throws UsageError when there is nothing to verify
 */
export async function verifyCommand(
  path: string,
  raw: RawVerifyOptions,
  io: CheckIo,
): Promise<ExitStatus> {
  const named = namedRecord(path);
  const trust = await trustOf(raw, io);
  if (named.kind === "set") return await verifyFolder(named.folder, trust, io);
  const released = releasedFolders(named.folder);
  if (released.length === 0) {
    io.out(`${named.folder} is a draft: it was never released, and nothing seals it.`);
    io.out(`holdfast release ${named.folder} gives it a number and a seal.`);
    return EXIT.notSealed;
  }
  const statuses: ExitStatus[] = [];
  for (const { path: folder } of released) statuses.push(await verifyFolder(folder, trust, io));
  statuses.push(ownJournal(named.folder, released.at(-1)?.path ?? "", io));
  return gravest(statuses);
}

async function trustOf(raw: RawVerifyOptions, io: CheckIo): Promise<Trust> {
  try {
    const { keys, unreadable } = await knownKeys(keysFolder(raw.keys));
    for (const sentence of unreadable) io.error(sentence);
    return { known: keys, asked: raw.key === undefined ? null : await keyInFile(raw.key) };
  } catch (error) {
    if (error instanceof KeyError) throw new UsageError(error.message);
    throw error;
  }
}

async function verifyFolder(
  folder: string,
  { known, asked }: Trust,
  io: CheckIo,
): Promise<ExitStatus> {
  const verdict = await verifySet(openSetFolder(folder), {
    known: known.map(({ key }) => key),
    asked,
  });
  const { findings, key, record } = verdict;
  if (record !== null) io.out(recordSentence(record));
  for (const { text } of findings) io.error(text);
  if (findings.length > 0) {
    const things = findings.length === 1 ? "one thing is" : `${findings.length} things are`;
    io.out(`NOT AS SEALED: ${things} not as they should be in ${folder}.`);
    return statusOf(findings);
  }
  io.out(wholeSentence(folder, verdict));
  await tellCorrections(folder, verdict, io);
  const signer = known.find((one) => one.key.thumbprint === key?.thumbprint);
  if (signer !== undefined) {
    io.out(
      `Sealed by ${signer.kind === "accepted" ? "accepted" : "your"} key ${signer.name}, ${signer.key.thumbprint}.`,
    );
    return EXIT.pass;
  }
  if (asked !== null) {
    io.out(`Sealed by the key you named, ${asked.thumbprint}.`);
    return EXIT.pass;
  }
  io.out(
    `Signed by a key you have not named, ${key?.thumbprint}: nobody has told you whose it is. ` +
      "Ask who released the record for that line by another way, then holdfast key accept NAME key.pem.",
  );
  return EXIT.unknownKey;
}

function recordSentence({ number, verdict, board, unit, release }: AcceptanceRecord): string {
  const by = release?.by == null ? "by a person who is not named" : `by ${release.by}`;
  return `Record ${number}: ${verdict.toUpperCase()}, ${board.name} revision ${board.revision}, ${unit === null ? "unit not named" : `unit ${unit}`}, released ${release?.at ?? ""} ${by}.`;
}

function wholeSentence(folder: string, { count, record }: SetVerdict): string {
  return `AS SEALED: ${count} files in ${folder}, the journal of ${record?.journal.lines ?? 0} lines among them.`;
}

/** What stands beside it: a correction of this record, and the record that this one corrects. */
async function tellCorrections(
  folder: string,
  { record, recordSha256 }: SetVerdict,
  io: CheckIo,
): Promise<void> {
  const corrects = record?.release?.corrects ?? null;
  if (corrects !== null) {
    io.out(`It corrects record ${corrects.number}: ${corrects.why}`);
  }
  for (const sibling of siblingsOf(folder)) {
    const other = await verifySet(openSetFolder(sibling), { known: [] });
    const named = other.record?.release?.corrects ?? null;
    if (named !== null && named.sha256 === recordSha256) {
      io.out(`IT WAS CORRECTED by record ${other.record?.number}, in ${sibling}: ${named.why}`);
    }
  }
}

function siblingsOf(folder: string): string[] {
  const own = resolve(folder);
  return releasedFolders(dirname(own)).flatMap(({ path }) => (path === own ? [] : [path]));
}

/** The run's own journal against the one that was sealed from it. */
function ownJournal(run: string, released: string, io: CheckIo): ExitStatus {
  const [own, sealed] = [run, released].map(journalSha256);
  if (own === null || sealed === null || own === sealed) return EXIT.pass;
  io.error(
    `${join(run, JOURNAL)} is not the journal that was released from this run: compare it with ${join(released, JOURNAL)}, which the seal covers.`,
  );
  return EXIT.notPass;
}

/** Null without one: what is missing in a set is told with the set. */
function journalSha256(folder: string): string | null {
  const files = openSetFolder(folder);
  if (!files.names.includes(JOURNAL)) return null;
  return digestOf(files.pieces(JOURNAL), blockBytesFor(Number.MAX_SAFE_INTEGER)).sha256;
}

function statusOf(findings: readonly Finding[]): ExitStatus {
  const found = STATUS_BY_KIND.find(([kind]) => findings.some((one) => one.kind === kind));
  return found?.[1] ?? EXIT.notPass;
}

function gravest(statuses: readonly ExitStatus[]): ExitStatus {
  const order: readonly ExitStatus[] = [
    ...STATUS_BY_KIND.map(([, status]) => status),
    EXIT.unknownKey,
  ];
  return order.find((status) => statuses.includes(status)) ?? EXIT.pass;
}
