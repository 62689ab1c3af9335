/** What can be wrong with the file of the index. Runs, journals and records never depend on it. */

export type IndexFaultCode =
  /** The file is of a later schema than this program knows. */
  | "INDEX_NEWER"
  /** A database of something else. */
  | "INDEX_FOREIGN"
  /** Not a database, or a broken one. */
  | "INDEX_DAMAGED"
  /** Another program kept it for longer than is waited. */
  | "INDEX_LOCKED"
  /** The disk is full, read-only, or gives no right to it. */
  | "INDEX_NOT_WRITABLE"
  /** What was asked of the file for durability is not what it answers. */
  | "INDEX_NOT_DURABLE";

export class IndexFault extends Error {
  readonly code: IndexFaultCode;
  readonly path: string;

  constructor(code: IndexFaultCode, path: string, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "IndexFault";
    this.code = code;
    this.path = path;
  }
}

/** Primary result codes of SQLite, https://www.sqlite.org/rescode.html; extended ones have them in their low byte. */
const PRIMARY = {
  perm: 3,
  busy: 5,
  locked: 6,
  readOnly: 8,
  ioErr: 10,
  corrupt: 11,
  full: 13,
  cantOpen: 14,
  notADb: 26,
} as const;

/** @returns the fault behind an error of the database, or the error itself when it is none of the file's */
export function faultOf(error: unknown, path: string): unknown {
  if (error instanceof IndexFault) return error;
  const code = primaryCodeOf(error);
  const why = error instanceof Error ? error.message : String(error);
  switch (code) {
    case PRIMARY.busy:
    case PRIMARY.locked:
      return new IndexFault(
        "INDEX_LOCKED",
        path,
        `Expected the index ${path} to be free, but another program keeps it. Wait for that one, then ask again.`,
        error,
      );
    case PRIMARY.corrupt:
    case PRIMARY.notADb:
      return damaged(path, why, error);
    case PRIMARY.perm:
    case PRIMARY.readOnly:
    case PRIMARY.ioErr:
    case PRIMARY.full:
    case PRIMARY.cantOpen:
      return new IndexFault(
        "INDEX_NOT_WRITABLE",
        path,
        `Expected to keep the index ${path}, but ${why}. Free the disk or give the right to write there; the runs themselves are safe.`,
        error,
      );
    default:
      return error;
  }
}

export function damaged(path: string, why: string, cause?: unknown): IndexFault {
  return new IndexFault(
    "INDEX_DAMAGED",
    path,
    `Expected an index of runs in ${path}, but it is damaged (${why}). Make it again from the runs: holdfast rebuild-index.`,
    cause,
  );
}

/** How long one program waits for another; a run is indexed in a few milliseconds. */
export const BUSY_MS = 5000;

function primaryCodeOf(error: unknown): number | null {
  if (!(error instanceof Error) || !("errcode" in error)) return null;
  return typeof error.errcode === "number" ? error.errcode & 0xff : null;
}
