/** Where the released records of a run lie: released-1, and a correction as released-2 and so on. */
import { existsSync, readdirSync, statSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { JOURNAL, RECORD, SEAL_FILES } from "../../record/seal/set-files.ts";
import { UsageError } from "../usage-error.ts";

const NAME = /^released-(?<count>[1-9]\d{0,5})$/;

export interface ReleasedFolder {
  readonly path: string;
  readonly count: number;
}

/** Oldest first. @throws the system's error */
export function releasedFolders(run: string): ReleasedFolder[] {
  return readdirSync(run)
    .flatMap((name) => {
      const count = NAME.exec(name)?.groups?.["count"];
      return count === undefined ? [] : [{ path: join(run, name), count: Number(count) }];
    })
    .sort((one, other) => one.count - other.count);
}

export function releasedPath(run: string, count: number): string {
  return join(run, `released-${count}`);
}

/** The record of a run: the newest that was released, else its draft. Quick, since many runs are asked. */
export function recordPath(run: string): string {
  if (!existsSync(releasedPath(run, 1))) return join(run, RECORD);
  return join(releasedFolders(run).at(-1)?.path ?? run, RECORD);
}

/** Whether a folder is a sealed set, or was one. */
export function isSetFolder(folder: string): boolean {
  return NAME.test(basename(folder)) || SEAL_FILES.some((name) => existsSync(join(folder, name)));
}

/** What a person may have named: a sealed set, or a run with or without any. */
export type NamedRecord =
  | { readonly kind: "set"; readonly folder: string }
  | { readonly kind: "run"; readonly folder: string };

/** @throws UsageError when it is neither */
export function namedRecord(path: string): NamedRecord {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (stat === undefined) {
    throw new UsageError(
      `Expected a released record or the folder of a run, got "${path}": there is none.`,
    );
  }
  const folder = stat.isDirectory() ? path : dirname(path);
  if (isSetFolder(folder)) return { kind: "set", folder };
  if (existsSync(join(folder, JOURNAL))) return { kind: "run", folder };
  throw new UsageError(
    `Expected a released record or the folder of a run, got "${path}": neither a seal nor a journal is there.`,
  );
}
