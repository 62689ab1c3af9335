/** A journal file in memory whose disk can be full, fail or take a few bytes at a time. */
import type { JournalFile } from "../../src/journal/journal-file.ts";

export interface Disk {
  /** Bytes the disk has room for. */
  roomBytes: number;
  /** Most bytes one write takes. */
  chunkBytes: number;
  /** System error codes that the next calls fail with, null for none. */
  writeError: string | null;
  syncError: string | null;
  truncateError: string | null;
}

export interface MemoryFile {
  readonly disk: Disk;
  readonly create: (path: string) => JournalFile;
  /** What is in the file now. */
  bytes(): Buffer;
  /** What is in the file and synced: all that a power cut is sure to leave. */
  synced(): Buffer;
  /** Let the oldest sync that was asked for beside the program end. @returns whether there was one */
  endSync(): boolean;
  /** Every state the file's bytes have had after a write or a truncation. */
  readonly history: Buffer[];
}

export function systemError(code: string): Error {
  return Object.assign(new Error(`${code}: from the test`), { code });
}

export function memoryFile(disk: Partial<Disk> = {}): MemoryFile {
  const state: Disk = {
    roomBytes: Number.POSITIVE_INFINITY,
    chunkBytes: Number.POSITIVE_INFINITY,
    writeError: null,
    syncError: null,
    truncateError: null,
    ...disk,
  };
  let content = Buffer.alloc(0);
  let synced = Buffer.alloc(0);
  const history: Buffer[] = [];
  const syncs: (() => void)[] = [];
  const file: JournalFile = {
    write(bytes) {
      if (state.writeError !== null) throw systemError(state.writeError);
      const room = state.roomBytes - content.length;
      if (room <= 0) throw systemError("ENOSPC");
      const taken = bytes.subarray(0, Math.min(room, state.chunkBytes));
      content = Buffer.concat([content, taken]);
      history.push(content);
      return taken.length;
    },
    sync() {
      if (state.syncError !== null) throw systemError(state.syncError);
      synced = content;
    },
    syncBeside(done) {
      // What is on its way to the medium is what was written by now; errors show at the end.
      const asked = content;
      syncs.push(() => {
        if (state.syncError !== null) {
          done(systemError(state.syncError));
          return;
        }
        const kept = Math.min(asked.length, content.length);
        if (kept > synced.length) synced = content.subarray(0, kept);
        done(null);
      });
    },
    truncate(size) {
      if (state.truncateError !== null) throw systemError(state.truncateError);
      content = content.subarray(0, size);
      synced = synced.subarray(0, size);
      history.push(content);
    },
    close: () => undefined,
  };
  return {
    disk: state,
    create: () => file,
    bytes: () => content,
    synced: () => synced,
    endSync() {
      const end = syncs.shift();
      end?.();
      return end !== undefined;
    },
    history,
  };
}
