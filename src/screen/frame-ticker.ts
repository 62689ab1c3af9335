/**
 * From many changes to few frames: the screen asks for the newest snapshot a few times a second,
 * whatever the run does in between, so that drawing can never hold it up.
 */
import type { Clock } from "../clock/clock.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";

/** What the screen may see of a run. */
export interface SnapshotFeed {
  snapshot(): RunSnapshot;
  /** @returns the way to unsubscribe */
  subscribe(listener: () => void): () => void;
}

export interface FrameTickerOptions {
  readonly feed: SnapshotFeed;
  /** Real time, not the bench's: a person looks at the screen. */
  readonly clock: Clock;
  readonly frameMs: number;
  /** False while the terminal has not taken the frame before; that frame is then left out. */
  readonly readyToDraw: () => boolean;
}

/**
 * Call `draw` at most once per `frameMs`, and once more after the last change.
 *
 * @returns the way to stop
 */
export function tickFrames(
  { feed, clock, frameMs, readyToDraw }: FrameTickerOptions,
  draw: (snapshot: RunSnapshot) => void,
): () => void {
  let timer: unknown = null;
  let stopped = false;
  let changed = false;
  const frame = (): void => {
    timer = null;
    if (stopped || !changed) return;
    if (readyToDraw()) {
      changed = false;
      draw(feed.snapshot());
    }
    timer = clock.setTimeout(frame, frameMs);
  };
  const unsubscribe = feed.subscribe(() => {
    changed = true;
    if (timer === null && !stopped) timer = clock.setTimeout(frame, frameMs);
  });
  return () => {
    stopped = true;
    unsubscribe();
    if (timer !== null) clock.clearTimeout(timer);
  };
}
