/**
 * A disk that keeps what was synced and nothing else: a cut loses the rest, torn at any byte. What reached it and
 * when is noted by the bench's own time, which no clock of the host can falsify.
 */
import { closeSync, constants, ftruncateSync, mkdirSync, openSync, writeSync } from "node:fs";
import { dirname } from "node:path";
import type { JournalFile } from "../../../src/journal/journal-file.ts";

export interface Synced {
  /** Of the bench. */
  readonly ms: number;
  /** Size of the file by then. */
  readonly bytes: number;
}

export class TornDisk {
  /** Every sync that succeeded, in order, over all openings of the file. */
  readonly synced: Synced[] = [];
  /** Asked at every write: `cut` strikes within it, after so large a share of its bytes. */
  mishap: (() => { readonly kind: "full" | "cut"; readonly share: number } | null) | null = null;
  readonly #benchMs: () => number;
  #onCut: () => void = () => undefined;
  #isDead = false;

  constructor(benchMs: () => number) {
    this.#benchMs = benchMs;
  }

  set onCut(act: () => void) {
    this.#onCut = act;
  }

  /** The computer is gone: nothing is written any more until the file is opened by another. */
  kill(): void {
    this.#isDead = true;
  }

  create(path: string): JournalFile {
    mkdirSync(dirname(path), { recursive: true });
    const flags = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL;
    return this.#fileOf(openSync(path, flags | constants.O_APPEND), 0);
  }

  /** As the program does it: bytes beyond the last sealed line are dropped first. */
  reopen(path: string, sealedBytes: number): JournalFile {
    const file = openSync(path, constants.O_WRONLY | constants.O_APPEND);
    ftruncateSync(file, sealedBytes);
    return this.#fileOf(file, sealedBytes);
  }

  #fileOf(file: number, begun: number): JournalFile {
    let bytes = begun;
    let waiting = Buffer.alloc(0);
    this.#isDead = false;
    let isOver = false;
    const dead = (): void => {
      isOver ||= this.#isDead;
      if (isOver) throw new Error("EIO: the computer is gone");
    };
    return {
      write: (piece) => {
        dead();
        const mishap = this.mishap?.() ?? null;
        const taken = mishap === null ? piece.length : Math.floor(piece.length * mishap.share);
        waiting = Buffer.concat([waiting, piece.subarray(0, taken)]);
        if (mishap === null) return taken;
        if (mishap.kind === "full") {
          throw Object.assign(new Error("ENOSPC: no space left on device"), { code: "ENOSPC" });
        }
        // What the system happened to have written out by then stays, a whole line or half of one.
        writeSync(file, waiting);
        const whole = waiting.lastIndexOf("\n") + 1;
        this.synced.push({ ms: this.#benchMs(), bytes: bytes + whole });
        isOver = true;
        this.#onCut();
        throw new Error("EIO: the computer is gone");
      },
      sync: () => {
        dead();
        writeSync(file, waiting);
        bytes += waiting.length;
        waiting = Buffer.alloc(0);
        this.synced.push({ ms: this.#benchMs(), bytes });
      },
      truncate: (size) => {
        dead();
        waiting = waiting.subarray(0, Math.max(0, size - bytes));
        if (size < bytes) throw new Error("sealed bytes were to be cut off");
      },
      close: () => {
        if (!isOver) closeSync(file);
      },
    };
  }
}
