/**
 * A terminal that is written to without waiting for it.
 *
 * Node writes to a terminal synchronously: a terminal that stops taking text (a stalled remote
 * shell, a paused window) would stop the whole program, and with it the feeding of the dead-man.
 * So the terminal is opened a second time in non-blocking mode, and what it does not take at once
 * waits here and is offered again.
 */
import { closeSync, constants, openSync, writeSync } from "node:fs";
import { Writable } from "node:stream";
import type { Clock } from "../../clock/clock.ts";

const RETRY_MS = 20;
/** The last bytes bring the terminal back to its own screen; they are worth a short wait. */
const CLOSE_MS_MAX = 1_000;
/** A screen draws a frame of some kilobytes; more than this waiting means nobody takes it. */
const HIGH_WATER_BYTES = 256 * 1024;

/** Where the terminal behind standard output can be opened afresh. */
const TERMINAL_PATHS = ["/proc/self/fd/1", "/dev/tty"] as const;

export interface PatientTerminal {
  readonly stream: NodeJS.WriteStream;
  /** What still waits is offered for a moment longer, then the terminal is given up. */
  close(): Promise<void>;
}

/** @returns null where the terminal cannot be opened a second time; then the plain one serves */
export function openPatientTerminal(
  terminal: NodeJS.WriteStream,
  clock: Clock,
  onGone: () => void,
): PatientTerminal | null {
  const fileDescriptor = openAgain();
  if (fileDescriptor === null) return null;
  const patient = new PatientStream({ fileDescriptor, clock, terminal, onGone });
  const resized = (): void => {
    patient.emit("resize");
  };
  terminal.on("resize", resized);
  return {
    // Ink asks a terminal for no more than its size, its `resize` and its writing side.
    stream: patient as unknown as NodeJS.WriteStream,
    async close() {
      terminal.off("resize", resized);
      const untilMs = clock.nowMs() + CLOSE_MS_MAX;
      while (patient.writableLength > 0 && clock.nowMs() < untilMs) await clock.delay(RETRY_MS);
      patient.destroy();
    },
  };
}

function openAgain(): number | null {
  const flags = constants.O_WRONLY | constants.O_NONBLOCK | constants.O_NOCTTY;
  for (const path of TERMINAL_PATHS) {
    const opened = openOrNull(path, flags);
    if (opened !== null) return opened;
  }
  return null;
}

/** Null where the system has no such path or does not permit it: another way serves then. */
function openOrNull(path: string, flags: number): number | null {
  try {
    return openSync(path, flags);
  } catch {
    return null;
  }
}

interface PatientGiven {
  readonly fileDescriptor: number;
  readonly clock: Clock;
  readonly terminal: NodeJS.WriteStream;
  /** Told when the terminal takes nothing any more and never will. */
  readonly onGone: () => void;
}

class PatientStream extends Writable {
  readonly isTTY = true;
  readonly #fileDescriptor: number;
  readonly #clock: Clock;
  readonly #terminal: NodeJS.WriteStream;
  readonly #onGone: () => void;
  #timer: unknown = null;

  constructor(given: PatientGiven) {
    super({ decodeStrings: true, highWaterMark: HIGH_WATER_BYTES });
    this.#fileDescriptor = given.fileDescriptor;
    this.#clock = given.clock;
    this.#terminal = given.terminal;
    this.#onGone = given.onGone;
  }

  get columns(): number {
    return this.#terminal.columns;
  }

  get rows(): number {
    return this.#terminal.rows;
  }

  override _write(chunk: Buffer, _encoding: string, done: (error?: Error | null) => void): void {
    this.#offer(chunk, done);
  }

  override _destroy(error: Error | null, done: (error?: Error | null) => void): void {
    if (this.#timer !== null) this.#clock.clearTimeout(this.#timer);
    closeSync(this.#fileDescriptor);
    done(error);
  }

  #offer(chunk: Buffer, done: (error?: Error | null) => void): void {
    this.#timer = null;
    const taken = this.#write(chunk);
    if (taken >= chunk.length) {
      done();
      return;
    }
    const rest = chunk.subarray(taken);
    this.#timer = this.#clock.setTimeout(() => this.#offer(rest, done), RETRY_MS);
  }

  /** @returns bytes taken; a terminal that is gone counts as taking all, nothing waits for it */
  #write(chunk: Buffer): number {
    try {
      return writeSync(this.#fileDescriptor, chunk);
    } catch (error) {
      if (isBusy(error)) return 0;
      this.#onGone();
      return chunk.length;
    }
  }
}

function isBusy(error: unknown): boolean {
  return error instanceof Error && "code" in error && error.code === "EAGAIN";
}
