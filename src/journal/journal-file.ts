/** The few things a journal needs from a file, as a seam: tests put a full or failing disk here. */
import {
  closeSync,
  constants,
  fdatasyncSync,
  fsyncSync,
  ftruncateSync,
  mkdirSync,
  openSync,
  writeSync,
} from "node:fs";
import { dirname } from "node:path";

export interface JournalFile {
  /** Append bytes; returns how many were taken, which may be fewer. */
  write(bytes: Uint8Array): number;
  /** Returns once what was written is on the medium. */
  sync(): void;
  /** Cut the file to `size` bytes; used only to drop bytes that were never sealed. */
  truncate(size: number): void;
  close(): void;
}

/**
 * Create a new file for appending; its folder is made when missing.
 *
 * @throws the system's error, `EEXIST` when the file is there already
 */
export function createJournalFile(path: string): JournalFile {
  const folder = dirname(path);
  mkdirSync(folder, { recursive: true });
  const flags = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL | constants.O_APPEND;
  const file = openSync(path, flags, 0o644);
  syncFolder(folder);
  return fileOf(file);
}

/**
 * Open the file of a journal to write on after its last sealed line. Bytes beyond it were never sealed.
 *
 * @throws the system's error
 */
export function continueJournalFile(path: string, sealedBytes: number): JournalFile {
  const file = openSync(path, constants.O_WRONLY | constants.O_APPEND);
  ftruncateSync(file, sealedBytes);
  fdatasyncSync(file);
  return fileOf(file);
}

function fileOf(file: number): JournalFile {
  return {
    write: (bytes) => writeSync(file, bytes),
    sync: () => fdatasyncSync(file),
    truncate: (size) => ftruncateSync(file, size),
    close: () => closeSync(file),
  };
}

/** A new name survives a power cut only once its folder is on the medium too. */
export function syncFolder(folder: string): void {
  if (process.platform === "win32") {
    // A folder cannot be opened for syncing there; the file system journals names by itself.
    return;
  }
  const handle = openSync(folder, constants.O_RDONLY);
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
