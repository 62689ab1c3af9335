/**
 * Follow a journal while it grows: woken by the file system where that tells, and looking by itself
 * all the same, because not every file system does.
 */
import { watch } from "node:fs";
import type { Clock } from "../clock/clock.ts";
import type { JournalEntry } from "../events/events.ts";
import { JournalReadError } from "./journal-fault.ts";
import { JournalTail } from "./journal-tail.ts";
import { SilenceLimit } from "./silence-limit.ts";

export type FollowEnd =
  /** Its last event closed the run. */
  | { readonly kind: "closed" }
  /** The file no longer stands under its name. */
  | { readonly kind: "gone" }
  /** The one who follows has left. */
  | { readonly kind: "left" }
  | { readonly kind: "fault"; readonly error: JournalReadError };

export interface FollowOptions {
  readonly path: string;
  /** Real time. */
  readonly clock: Clock;
  readonly onEntry: (entry: JournalEntry) => void;
  /** What was told so far is void; entries follow again from the first. */
  readonly onRetold: () => void;
  /** For how long nothing has been written, once that is worth saying; null when it goes on. */
  readonly onSilence: (silentMs: number | null) => void;
  /** False while the one who is told has not taken what was told before. */
  readonly mayRead: () => boolean;
  readonly signal: AbortSignal;
  /** Call `wake` whenever the file may have changed; returns the way to stop. */
  readonly watchFile?: (path: string, wake: () => void) => () => void;
}

/** Rest between two looks, ms: the first when nothing wakes, the second however often it does. */
const LOOK_EVERY_MS = 250;
const REST_MS = 40;

/** Resolves when the run is closed or can be followed no further. Never rejects for the file's sake. */
export async function followJournal(options: FollowOptions): Promise<FollowEnd> {
  const { path, signal, watchFile = watchByFileSystem } = options;
  let isClosed = false;
  let limit = new SilenceLimit();
  try {
    const tail = new JournalTail(path, {
      onRetold: () => {
        limit = new SilenceLimit();
        options.onRetold();
      },
      onEntry: (entry) => {
        limit.take(entry);
        isClosed = entry.event.kind === "run-closed";
        options.onEntry(entry);
      },
    });
    const rest = restOf(options.clock);
    const unwatch = watchFile(path, rest.wake);
    signal.addEventListener("abort", rest.wake);
    try {
      return await look({
        options,
        tail,
        rest,
        isClosed: () => isClosed,
        silentFromMs: () => limit.ms,
      });
    } finally {
      signal.removeEventListener("abort", rest.wake);
      unwatch();
      tail.close();
    }
  } catch (error) {
    if (error instanceof JournalReadError) return { kind: "fault", error };
    throw error;
  }
}

interface Looking {
  readonly options: FollowOptions;
  readonly tail: JournalTail;
  readonly rest: Rest;
  readonly isClosed: () => boolean;
  readonly silentFromMs: () => number;
}

async function look(looking: Looking): Promise<FollowEnd> {
  const { options, tail, rest, isClosed } = looking;
  const { clock, mayRead, signal } = options;
  const silence = silenceOf(looking);
  while (!signal.aborted) {
    // Looked at before reading: what was written before it vanished is still told.
    const stands = tail.stands();
    const waits = !mayRead() || tail.read();
    if (isClosed()) return { kind: "closed" };
    if (!stands && !waits) return { kind: "gone" };
    if (waits) await clock.delay(mayRead() ? 0 : REST_MS);
    else {
      silence.look();
      await rest.untilWoken();
    }
  }
  return { kind: "left" };
}

/** Counts from the last time the file grew; at first from when it was last written. */
function silenceOf({ options, tail, silentFromMs }: Looking): { look(): void } {
  const { clock, onSilence } = options;
  const agedMs = Math.max(0, Date.parse(clock.wallTime()) - tail.writtenMs());
  let grewMs = clock.nowMs() - agedMs;
  let bytes: number | null = null;
  let isSilent = false;
  return {
    look() {
      if (bytes !== null && bytes !== tail.seenBytes) grewMs = clock.nowMs();
      bytes = tail.seenBytes;
      const silentMs = clock.nowMs() - grewMs;
      const wasSilent = isSilent;
      isSilent = silentMs >= silentFromMs();
      if (isSilent) onSilence(silentMs);
      else if (wasSilent) onSilence(null);
    },
  };
}

interface Rest {
  /** Short when woken, longer when not. */
  untilWoken(): Promise<void>;
  wake(): void;
}

function restOf(clock: Clock): Rest {
  let isWoken = false;
  let end: (() => void) | null = null;
  return {
    wake() {
      isWoken = true;
      end?.();
    },
    async untilWoken() {
      await clock.delay(REST_MS);
      if (!isWoken) {
        await new Promise<void>((resolve) => {
          const timer = clock.setTimeout(resolve, LOOK_EVERY_MS);
          end = () => {
            clock.clearTimeout(timer);
            resolve();
          };
        });
      }
      end = null;
      isWoken = false;
    },
  };
}

/** Where the file system cannot be watched, looking every so often serves. */
function watchByFileSystem(path: string, wake: () => void): () => void {
  try {
    const watcher = watch(path, { persistent: false }, wake);
    watcher.on("error", () => watcher.close());
    return () => watcher.close();
  } catch {
    return () => undefined;
  }
}
