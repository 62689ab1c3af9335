/** The run as others may look at it: sealed entries folded into the newest snapshot. */
import type { JournalEntry } from "../../events/events.ts";
import type { FoldedRun } from "../../journal/account.ts";
import { foldEvent, initialSnapshot } from "../../journal/fold.ts";
import type { RunSnapshot } from "../../journal/snapshot.ts";
import type { SnapshotFeed } from "../../screen/frame-ticker.ts";

type EntryListener = (entry: JournalEntry, snapshot: RunSnapshot) => void;

export interface RunFeed extends SnapshotFeed {
  snapshot(): FoldedRun;
  take(entry: JournalEntry): void;
  /** Be told of every sealed entry with the snapshot it led to. */
  onEntry(listener: EntryListener): () => void;
}

/**
 * @param onFault told when a listener failed; it is dropped, because whoever only looks at a run
 *   may never hold it up
 * @param before the run as it stood, when it goes on
 */
export function createRunFeed(
  onFault: (error: unknown) => void,
  before: FoldedRun = initialSnapshot(),
): RunFeed {
  let run = before;
  const listeners = new Set<EntryListener>();
  const add = (listener: EntryListener): (() => void) => {
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
    };
  };
  return {
    take(entry) {
      // A run that takes over from another begins a picture of its own.
      run = foldEvent(entry.event.kind === "run-opened" ? initialSnapshot() : run, entry);
      for (const listener of [...listeners]) {
        try {
          listener(entry, run);
        } catch (error) {
          listeners.delete(listener);
          onFault(error);
        }
      }
    },
    snapshot: () => run,
    subscribe: (listener) => add(() => listener()),
    onEntry: add,
  };
}
