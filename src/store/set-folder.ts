/**
 * A sealed set as a folder: read as it lies there, and written whole or not at all. A folder that is
 * there is never written into.
 */
import {
  closeSync,
  constants,
  copyFileSync,
  fsyncSync,
  lstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  readSync,
  renameSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { dirname, join, sep } from "node:path";
import { syncFolder } from "../journal/journal-file.ts";

/** Read in one go. */
const PIECE_BYTES = 1024 * 1024;
const READ_FLAGS = constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0) | (constants.O_NONBLOCK ?? 0);

/** Files of a folder; a link is named and never followed. */
export interface FolderFiles {
  readonly names: readonly string[];
  pieces(name: string): Iterable<Uint8Array>;
}

/** @throws the system's error when the folder cannot be listed */
export function openSetFolder(folder: string): FolderFiles {
  const names = readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => !entry.isDirectory())
    .map((entry) => join(entry.parentPath, entry.name).slice(join(folder, sep).length))
    .map((name) => name.replaceAll(sep, "/"))
    .sort();
  return { names, pieces: (name) => piecesOf(join(folder, name)) };
}

function* piecesOf(path: string): Iterable<Uint8Array> {
  if (!lstatSync(path).isFile()) {
    throw new Error(`Expected a plain file, ${path} is none. Put the file itself there.`);
  }
  const file = openSync(path, READ_FLAGS);
  try {
    for (let at = 0; ; ) {
      const piece = Buffer.allocUnsafe(PIECE_BYTES);
      const size = readSync(file, piece, 0, PIECE_BYTES, at);
      if (size === 0) return;
      at += size;
      yield piece.subarray(0, size);
    }
  } finally {
    closeSync(file);
  }
}

/** A set while it is made, beside its place. */
export class SetWriter {
  readonly #target: string;
  readonly #beside: string;

  /**
   * @throws the system's error, `EEXIST` when another writer is at it, or one was cut short
   */
  constructor(target: string) {
    this.#target = target;
    this.#beside = `${target}.new`;
    mkdirSync(this.#beside);
  }

  put(name: string, bytes: Uint8Array): void {
    writeFileSync(this.#placeOf(name), bytes, { flag: "wx" });
  }

  /** A copy of a file of any length; where the disk can share the bytes, it does. */
  copy(name: string, from: string): void {
    copyFileSync(from, this.#placeOf(name), constants.COPYFILE_EXCL | constants.COPYFILE_FICLONE);
  }

  files(): FolderFiles {
    return openSetFolder(this.#beside);
  }

  /** Bring everything on the medium, then the whole to its place. */
  commit(): void {
    for (const name of this.files().names) syncFile(join(this.#beside, name));
    syncFolder(this.#beside);
    // Windows renames nothing over a folder; elsewhere an empty one gives way, so it is made ours first.
    if (process.platform !== "win32") mkdirSync(this.#target);
    renameSync(this.#beside, this.#target);
    syncFolder(dirname(this.#target));
  }

  abandon(): void {
    rmSync(this.#beside, { recursive: true, force: true });
  }

  #placeOf(name: string): string {
    const path = join(this.#beside, name);
    mkdirSync(dirname(path), { recursive: true });
    return path;
  }
}

function syncFile(path: string): void {
  // A copy may be as read-only as what it was copied from; Windows syncs only what can be written.
  const file = openSync(path, process.platform === "win32" ? "r+" : "r");
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
