/** What a running hold does next, and when: readings, moves of the other lines, its end. Pure. */

export interface HoldTiming {
  readonly forMs: number;
  readonly readEveryMs: number;
  readonly moveEveryMs: number;
  /** Lines that are moved; none means that nothing moves. */
  readonly moveCount: number;
}

/** How often each thing has been done since the watch began. */
export interface HoldCount {
  readonly readings: number;
  readonly moves: number;
}

export interface HoldDue {
  readonly kind: "read" | "move" | "end";
  /** Since the watch began. */
  readonly atMs: number;
}

/**
 * The first reading is due at once, the last at the very end, so that the whole length is watched.
 * Where both fall together the line moves first and the state is read in the midst of it.
 */
export function nextDue(timing: HoldTiming, { readings, moves }: HoldCount): HoldDue {
  const { forMs, readEveryMs, moveEveryMs, moveCount } = timing;
  const movesMax = moveCount === 0 ? 0 : Math.ceil(forMs / moveEveryMs) - 1;
  const readingsMax = Math.ceil(forMs / readEveryMs) + 1;
  const moveMs = moves < movesMax ? (moves + 1) * moveEveryMs : Number.POSITIVE_INFINITY;
  const readMs =
    readings < readingsMax ? Math.min(readings * readEveryMs, forMs) : Number.POSITIVE_INFINITY;
  if (moveMs <= readMs && moveMs < forMs) return { kind: "move", atMs: moveMs };
  return readMs <= forMs ? { kind: "read", atMs: readMs } : { kind: "end", atMs: forMs };
}
