/** The few things a journal needs from a file, as a seam: tests put a full or failing disk here. */
import {
  closeSync,
  constants,
  fdatasync,
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
  /**
   * The same while the program goes on; `done` is told once what was written by now is on the medium, or why not.
   * Missing where nothing can go on meanwhile.
   */
  syncBeside?(done: (error: unknown) => void): void;
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
  return fileOf(file, path);
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
  return fileOf(file, path);
}

function fileOf(file: number, path: string): JournalFile {
  // Linux tells a failed write-back once to every opening of a file. Of two that ask through one opening the first
  // would hear of it, and the other would take lost bytes for safe ones.
  const beside = openSync(path, constants.O_RDONLY);
  let asked = 0;
  let isClosed = false;
  const closeBeside = (): void => {
    if (isClosed && asked === 0) closeSync(beside);
  };
  return {
    write: (bytes) => writeSync(file, bytes),
    sync: () => fdatasyncSync(file),
    syncBeside(done) {
      asked += 1;
      fdatasync(beside, (error) => {
        asked -= 1;
        closeBeside();
        done(error);
      });
    },
    truncate: (size) => ftruncateSync(file, size),
    close() {
      closeSync(file);
      isClosed = true;
      closeBeside();
    },
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
