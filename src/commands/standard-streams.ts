/**
 * Standard output and error as things that may break.
 *
 * A reader that leaves (`| head -3`) or a terminal that is gone must never end the program before
 * its outputs are safe, and a reader that is slow must not hold it up.
 */
import type { Clock } from "../clock/clock.ts";

/** Longest wait for whoever reads standard error, at the very end. */
const ERROR_FLUSH_MS_MAX = 2_000;
const FLUSH_POLL_MS = 10;

/** Errors that mean nobody reads any more: closed pipe, terminal gone. */
const GONE_CODES: ReadonlySet<string> = new Set(["EPIPE", "EIO", "ECONNRESET", "EBADF"]);

export interface StandardStreams {
  /** Nobody reads standard output any more. */
  readonly outputGone: boolean;
  /** Be told once when the terminal that standard output is cannot be written to any more. */
  onTerminalGone(listener: () => void): void;
  /** Somebody else who writes to the terminal found it gone. */
  loseTerminal(): void;
  /**
   * Wait until what was written has left. Outputs are safe by now, so a slow reader of standard
   * output gets all the time it wants, as with any program in a pipe; a signal ends the wait.
   */
  flush(clock: Clock): Promise<void>;
}

/** Take the sting out of both streams; call once, before anything is written. */
export function guardStandardStreams(): StandardStreams {
  let outputGone = false;
  let errorGone = false;
  const terminalGone = new AbortController();
  const isTerminal = process.stdout.isTTY === true;
  process.stdout.on("error", (error: NodeJS.ErrnoException) => {
    if (!GONE_CODES.has(error.code ?? "")) tellOnce(error);
    outputGone = true;
    if (isTerminal) terminalGone.abort();
  });
  process.stderr.on("error", () => {
    // There is nowhere left to say it.
    errorGone = true;
  });
  process.stdin.on("error", () => {
    // A terminal that went away; the hang-up signal tells of it.
    process.stdin.pause();
  });
  let told = false;
  const tellOnce = (error: Error): void => {
    if (told || errorGone) return;
    told = true;
    process.stderr.write(`Writing to standard output failed: ${error.message}.\n`);
  };
  return {
    get outputGone() {
      return outputGone;
    },
    onTerminalGone(listener) {
      if (terminalGone.signal.aborted) listener();
      else terminalGone.signal.addEventListener("abort", listener, { once: true });
    },
    loseTerminal() {
      outputGone = true;
      terminalGone.abort();
    },
    async flush(clock) {
      while (!outputGone && process.stdout.writableLength > 0) await clock.delay(FLUSH_POLL_MS);
      const untilMs = clock.nowMs() + ERROR_FLUSH_MS_MAX;
      const waiting = () => !errorGone && process.stderr.writableLength > 0;
      while (waiting() && clock.nowMs() < untilMs) await clock.delay(FLUSH_POLL_MS);
    },
  };
}
