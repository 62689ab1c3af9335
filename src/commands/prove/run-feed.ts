/** The run as others may look at it: sealed entries folded into the newest snapshot. */
import type { JournalEntry } from "../../events/events.ts";
import { foldEvent, initialSnapshot } from "../../journal/fold.ts";
import type { RunSnapshot } from "../../journal/snapshot.ts";
import type { SnapshotFeed } from "../../screen/frame-ticker.ts";

export interface RunFeed extends SnapshotFeed {
  take(entry: JournalEntry): void;
  /** Every sealed entry with the snapshot it led to, from now on. */
  onEntry(listener: (entry: JournalEntry, snapshot: RunSnapshot) => void): () => void;
}

export function createRunFeed(): RunFeed {
  let run = initialSnapshot();
  const entryListeners = new Set<(entry: JournalEntry, snapshot: RunSnapshot) => void>();
  const changeListeners = new Set<() => void>();
  return {
    take(entry) {
      run = foldEvent(run, entry);
      for (const listener of entryListeners) listener(entry, run);
      for (const listener of changeListeners) listener();
    },
    snapshot: () => run,
    subscribe(listener) {
      changeListeners.add(listener);
      return () => changeListeners.delete(listener);
    },
    onEntry(listener) {
      entryListeners.add(listener);
      return () => entryListeners.delete(listener);
    },
  };
}
