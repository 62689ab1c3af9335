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
  /** A soak that says nothing for so long, ms, is drawn again with its time gone on; null waits for what it says. */
  readonly breathMs: number | null;
  /** False while the terminal has not taken the frame before; that frame is then left out. */
  readonly readyToDraw: () => boolean;
}

/**
 * Call `draw` at most once per `frameMs`, and once more after the last change.
 *
 * @returns the way to stop
 */
export function tickFrames(
  { feed, clock, frameMs, breathMs, readyToDraw }: FrameTickerOptions,
  draw: (snapshot: RunSnapshot) => void,
): () => void {
  let timer: unknown = null;
  let breath: unknown = null;
  let heardMs = clock.nowMs();
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
  const breathe = (afterMs: number): void => {
    breath = clock.setTimeout(() => {
      const silentMs = clock.nowMs() - heardMs;
      const snapshot = feed.snapshot();
      if (silentMs >= afterMs && timer === null && isSoaking(snapshot) && readyToDraw()) {
        draw(after(snapshot, silentMs));
      }
      breathe(afterMs);
    }, afterMs);
  };
  if (breathMs !== null) breathe(breathMs);
  const unsubscribe = feed.subscribe(() => {
    changed = true;
    heardMs = clock.nowMs();
    if (timer === null && !stopped) timer = clock.setTimeout(frame, frameMs);
  });
  return () => {
    stopped = true;
    unsubscribe();
    if (timer !== null) clock.clearTimeout(timer);
    if (breath !== null) clock.clearTimeout(breath);
  };
}

function isSoaking({ soak, verdict }: RunSnapshot): boolean {
  return soak !== undefined && verdict === null;
}

/** The same, and nothing happened since. */
function after(snapshot: RunSnapshot, silentMs: number): RunSnapshot {
  const { ms, leftMs } = snapshot;
  return {
    ...snapshot,
    ms: ms + silentMs,
    leftMs: leftMs === null ? null : Math.max(0, leftMs - silentMs),
  };
}
