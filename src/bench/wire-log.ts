/**
 * Every line that crossed the wire, with its time, for whoever looks into a link that misbehaves. It never stands in
 * the way of a run: it grows to a bound, and where it cannot be written any more it says so once and stops.
 */
import { closeSync, openSync, renameSync, writeSync } from "node:fs";
import type { Clock } from "../clock/clock.ts";
import type { WireTrace } from "./controller-link.ts";

/** About a day of a soak's exchanges; twice that is kept, in two files. */
const BYTES_MAX = 16_000_000;

export interface WireLog {
  readonly trace: WireTrace;
  close(): void;
}

export interface WireLogOptions {
  readonly path: string;
  readonly clock: Clock;
  /** Told once when nothing can be written any more. */
  readonly onFault: (message: string) => void;
  /** Size at which the file becomes `PATH.1`, in place of an older one. */
  readonly bytesMax?: number;
}

const ARROWS = { sent: ">", received: "<", note: "#" } as const;

/** @throws Error when the file cannot be opened */
export function openWireLog({
  path,
  clock,
  onFault,
  bytesMax = BYTES_MAX,
}: WireLogOptions): WireLog {
  let file: number | null = openSync(path, "w");
  let bytes = 0;
  const put = (text: string): void => {
    if (file === null) return;
    writeSync(file, text);
    bytes += text.length;
  };
  const head = (): void =>
    put(
      `# ms of this program's clock, > sent, < received; ${clock.nowMs().toFixed(3)} was ${clock.wallTime()}\n`,
    );
  const turn = (): void => {
    if (file === null) return;
    closeSync(file);
    file = null;
    renameSync(path, `${path}.1`);
    file = openSync(path, "w");
    bytes = 0;
    head();
  };
  const guarded = (act: () => void): void => {
    try {
      act();
    } catch (error) {
      file = null;
      onFault(`the wire log ${path} ends here: ${String(error)}`);
    }
  };
  guarded(head);
  return {
    trace: (direction, text) =>
      guarded(() => {
        put(`${clock.nowMs().toFixed(3)} ${ARROWS[direction]} ${printable(text)}\n`);
        if (bytes >= bytesMax) turn();
      }),
    close() {
      if (file !== null) closeSync(file);
      file = null;
    },
  };
}

/** Bytes outside printable ASCII as \xNN, so that noise stays on its line. */
function printable(text: string): string {
  return text.replace(
    /[^ -~]/g,
    (one) => `\\x${one.charCodeAt(0).toString(16).padStart(2, "0").toUpperCase()}`,
  );
}
