/**
 * Whether a set of files is as it was sealed, and where it is not. Trusts nothing: the seal first, then
 * every file by its hash, then the journal by its own chain and by what the record says of it.
 */
import { hash } from "node:crypto";
import type { AcceptanceRecord } from "../acceptance-record.ts";
import { parseRecord, RecordReadError } from "../read-record.ts";
import { checkJournal } from "./check-journal.ts";
import { recordAgain, recordFiles } from "./derived-files.ts";
import {
  blockBytesFor,
  blocksText,
  digestOf,
  type FileDigest,
  parseBlocks,
} from "./file-digest.ts";
import { type Finding, finding } from "./finding.ts";
import { placeChange } from "./place-change.ts";
import { readSeal } from "./read-seal.ts";
import { numberFits } from "./record-number.ts";
import type { PublicKey } from "./seal-key.ts";
import { digestsOf } from "./seal-set.ts";
import {
  BLOCKS,
  JOURNAL,
  RECORD,
  RECORD_PAGE,
  RECORD_SHEET,
  SEAL_FILES,
  SEAL_KEY,
  type SetFiles,
  wholeFile,
} from "./set-files.ts";

const RECORD_BYTES_MAX = 64 * 1024 * 1024;
/** The list of blocks has some 50 kB a file at most. */
const BLOCKS_BYTES_MAX = 16 * 1024 * 1024;

export interface SetVerdict {
  /** Empty when everything is as it was sealed. */
  readonly findings: readonly Finding[];
  /** The key that the seal holds for; null when it holds for none. */
  readonly key: PublicKey | null;
  /** The record, where it is as it was sealed and can be read. */
  readonly record: AcceptanceRecord | null;
  /** SHA-256 of record.json, where it is as it was sealed. */
  readonly recordSha256: string | null;
  /** Files that the seal covers. */
  readonly count: number;
}

/**
 * @param known keys that the caller vouches for
 * @param asked the key that must have sealed it; null when any may
 * @throws the system's error when a file cannot be read although it is there
 */
export async function verifySet(
  files: SetFiles,
  {
    known,
    asked = null,
  }: { readonly known: readonly PublicKey[]; readonly asked?: PublicKey | null },
): Promise<SetVerdict> {
  const seal = await readSeal(files, asked === null ? known : [asked, ...known]);
  const unasked =
    asked !== null && seal.key !== null && seal.key.thumbprint !== asked.thumbprint
      ? [
          finding(
            "wrong key",
            SEAL_KEY,
            `Sealed by another key: expected ${asked.thumbprint}, it is ${seal.key.thumbprint}.`,
          ),
        ]
      : [];
  const said = [...seal.findings, ...unasked];
  if (seal.sums === null) {
    return { findings: said, key: seal.key, record: null, recordSha256: null, count: 0 };
  }
  const content = new SetContent(files, seal.sums);
  const findings = [...said, ...content.strayNames(), ...content.changes()];
  const record = content.record;
  const recordSha256 = record === null ? null : (seal.sums.get(RECORD) ?? null);
  const faults = record === null ? [] : disagreements(record, seal.key);
  return {
    findings: [...findings, ...content.unreadableRecord(), ...faults],
    key: seal.key,
    record,
    recordSha256,
    count: seal.sums.size,
  };
}

/** What a genuine set never has: a record that is none of this seal or of this journal. */
function disagreements(record: AcceptanceRecord, key: PublicKey | null): Finding[] {
  const { release } = record;
  const at = (pointer: string, text: string) =>
    finding("changed", RECORD, `${RECORD} ${text}`, { pointer });
  return [
    ...(release === null ? [at("/release", "is a draft, yet it was sealed.")] : []),
    ...(release !== null && release.key !== key?.thumbprint
      ? [at("/release/key", `names key ${release.key}, it was sealed with another.`)]
      : []),
    ...(numberFits(record) ? [] : [at("/number", "has a number that is not of its journal.")]),
  ];
}

class SetContent {
  readonly #files: SetFiles;
  readonly #sums: ReadonlyMap<string, string>;
  readonly #digests = new Map<string, FileDigest>();
  readonly #blocks: ReturnType<typeof parseBlocks>;
  readonly record: AcceptanceRecord | null;
  #unreadable: Finding[] = [];

  constructor(files: SetFiles, sums: ReadonlyMap<string, string>) {
    this.#files = files;
    this.#sums = sums;
    this.#blocks = this.#isSealed(BLOCKS)
      ? parseBlocks(this.#text(BLOCKS, BLOCKS_BYTES_MAX))
      : new Map();
    this.record = this.#isSealed(RECORD) ? this.#readRecord() : null;
  }

  unreadableRecord(): readonly Finding[] {
    return this.#unreadable;
  }

  /** Names that are missing, and names that nobody sealed; the same file under another name as one. */
  strayNames(): Finding[] {
    const seals: readonly string[] = SEAL_FILES;
    const extra = this.#files.names.filter(
      (name) => !this.#sums.has(name) && !seals.includes(name),
    );
    const missing = [...this.#sums.keys()].filter((name) => !this.#isThere(name));
    const renamed = new Map<string, string>();
    for (const name of missing) {
      const now = extra.find((one) => this.#digest(one).sha256 === this.#sums.get(name));
      if (now !== undefined) renamed.set(name, now);
    }
    const taken = new Set(renamed.values());
    return [
      ...missing.map((name) => {
        const now = renamed.get(name);
        const text =
          now === undefined
            ? `${name} is missing: it was sealed and is not there. Ask for the set again.`
            : `${name} is missing under its name: it lies there as ${now}. Call it ${name} again.`;
        return finding("missing", name, text);
      }),
      ...extra
        .filter((name) => !taken.has(name))
        .map((name) =>
          finding("extra", name, `${name} was never sealed: nothing vouches for it. Take it out.`),
        ),
    ];
  }

  /** Files that are there and not as they were, each with the place. */
  changes(): Finding[] {
    const there = [...this.#sums.keys()].filter((name) => this.#isThere(name));
    const changed = there.filter((name) => !this.#isSealed(name));
    const found = changed.flatMap((name) =>
      name === JOURNAL ? this.#journal() : [this.#place(name)],
    );
    // A journal that is as it was sealed may still never have been the one of this record.
    if (this.#isThere(JOURNAL) && !changed.includes(JOURNAL)) {
      found.push(...checkJournal(this.#files, this.record?.journal ?? null, false).findings);
    }
    return found;
  }

  #journal(): Finding[] {
    const { findings } = checkJournal(this.#files, this.record?.journal ?? null, false);
    const placed = this.#place(JOURNAL);
    if (findings.length === 0) return [placed];
    // A journal that was written anew holds in itself: only its blocks know from where on.
    return findings.map((one) =>
      one.line === null
        ? { ...one, line: placed.line, bytes: placed.bytes, text: `${one.text} ${placed.text}` }
        : one,
    );
  }

  #place(name: string): Finding {
    const now = this.#digest(name);
    const sealed = this.#blocks.get(name) ?? null;
    return placeChange(this.#files, { name, now, sealed, truth: this.#truth(name) });
  }

  /** The sealed bytes where they can be made again; null where not. */
  #truth(name: string): Uint8Array | null {
    const made = this.#madeAgain(name);
    return made !== null && hash("sha256", made, "hex") === this.#sums.get(name) ? made : null;
  }

  #madeAgain(name: string): Uint8Array | null {
    if (name === BLOCKS) return this.#blocksAgain();
    const isDrawn = name === RECORD || name === RECORD_SHEET || name === RECORD_PAGE;
    if (!isDrawn || !this.#isSealed(JOURNAL)) return null;
    const { drawn } = checkJournal(this.#files, null, true);
    if (drawn === null) return null;
    if (name === RECORD) {
      return recordAgain(drawn.draft, this.#text(RECORD, RECORD_BYTES_MAX));
    }
    return this.record === null ? null : (recordFiles(this.record, drawn.facts).get(name) ?? null);
  }

  #blocksAgain(): Uint8Array | null {
    const others = [...this.#sums.keys()].filter((name) => name !== BLOCKS);
    if (!others.every((name) => this.#isSealed(name))) return null;
    return Buffer.from(blocksText(digestsOf(this.#files, others)));
  }

  #readRecord(): AcceptanceRecord | null {
    try {
      return parseRecord(this.#text(RECORD, RECORD_BYTES_MAX));
    } catch (error) {
      if (!(error instanceof RecordReadError)) throw error;
      const kind = error.code === "RECORD_NEWER" ? "newer" : "changed";
      this.#unreadable = [
        finding(kind, RECORD, `${RECORD}: ${error.message}`, { pointer: error.pointer }),
      ];
      return null;
    }
  }

  #isThere(name: string): boolean {
    return this.#files.names.includes(name);
  }

  #isSealed(name: string): boolean {
    return this.#isThere(name) && this.#digest(name).sha256 === this.#sums.get(name);
  }

  #digest(name: string): FileDigest {
    const known = this.#digests.get(name);
    if (known !== undefined) return known;
    const found = this.#digestWith(name);
    this.#digests.set(name, found);
    return found;
  }

  #digestWith(name: string): FileDigest {
    // The list of blocks is read first, and by itself in blocks that nobody compares.
    const sealed = name === BLOCKS ? undefined : this.#blocks?.get(name);
    const blockBytes = sealed?.blockBytes ?? blockBytesFor(0);
    return digestOf(this.#files.pieces(name), blockBytes);
  }

  #text(name: string, bytesMax: number): string {
    return Buffer.from(wholeFile(this.#files, name, bytesMax)).toString("utf8");
  }
}
