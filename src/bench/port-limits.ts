/** Opening and closing of a serial port with a time limit: both can hang in the driver. */
import type { Clock } from "../clock/clock.ts";
import { BenchError } from "./bench-error.ts";

/** What is used of a serial port here. */
export interface OpenablePort {
  readonly isOpen: boolean;
  open(done: (error: Error | null) => void): void;
  close(done?: (error: Error | null) => void): void;
  destroy(): unknown;
}

export interface Limit {
  readonly port: string;
  readonly clock: Clock;
  readonly limitMs: number;
}

/** @throws BenchError port-open-timeout; the opening's own error */
export function openWithin(stream: OpenablePort, { port, clock, limitMs }: Limit): Promise<void> {
  return new Promise((resolve, reject) => {
    let late = false;
    const timer = clock.setTimeout(() => {
      late = true;
      reject(new BenchError("port-open-timeout", { port, limitMs }));
    }, limitMs);
    stream.open((error) => {
      clock.clearTimeout(timer);
      if (error) reject(error);
      else if (late) stream.close();
      else resolve();
    });
  });
}

/** @throws BenchError port-close-failed; the stream is destroyed all the same */
export function closeWithin(stream: OpenablePort, { port, clock, limitMs }: Limit): Promise<void> {
  return new Promise((resolve, reject) => {
    const fail = (cause?: unknown) => {
      stream.destroy();
      reject(new BenchError("port-close-failed", { port, limitMs }, cause));
    };
    if (!stream.isOpen) {
      stream.destroy();
      resolve();
      return;
    }
    const timer = clock.setTimeout(fail, limitMs);
    stream.close((error) => {
      clock.clearTimeout(timer);
      if (error && !isDisconnect(error)) {
        fail(error);
        return;
      }
      stream.destroy();
      resolve();
    });
  });
}

/** A device that went away while it was being closed is closed. */
function isDisconnect(error: Error): boolean {
  return "disconnected" in error && error.disconnected === true;
}
