/**
 * Whether a link goes wrong when relays move. A coil that is switched without a snubber, or coils fed from the
 * controller's own supply, spoil a line or restart the controller at that very moment (common practice).
 *
 * Noise that knows nothing of relays spoils lines as long as they are on the wire: exchanges that had to be asked again
 * are held against the share of bytes that belong to such as move relays. Breaks of the link are held against the
 * share of time that those are under way. Both by the exact binomial tail.
 */
import { binomialAtLeast } from "../measure/statistics/binomial.ts";

/** What a link was used for, over a soak. */
export interface LinkUse {
  /** Sent and received. */
  readonly bytes: number;
  /** Of these, in exchanges that move relays. */
  readonly movingBytes: number;
  /** Time that those were under way, ms. */
  readonly movingMs: number;
  /** Exchanges that had to be asked again, and of these such as move relays. */
  readonly repeats: number;
  readonly movingRepeats: number;
  /** All the time, ms. */
  readonly ms: number;
  /** Breaks of the link of which it is known what was under way, and of these those while relays moved. */
  readonly breaks: number;
  readonly movingBreaks: number;
}

export interface Coincidence {
  readonly count: number;
  readonly moving: number;
  /** Of bytes, or of time. */
  readonly share: number;
  /** Chance of so many or more, were it all the same. */
  readonly chance: number;
}

export interface LinkCoincidence {
  /** Null where there was none. */
  readonly repeats: Coincidence | null;
  readonly breaks: Coincidence | null;
}

export function linkCoincidence(use: LinkUse): LinkCoincidence {
  const byCount = use.bytes === 0 ? 0 : use.movingBytes / use.bytes;
  const byTime = use.ms === 0 ? 0 : Math.min(1, use.movingMs / use.ms);
  return {
    repeats: coincidence(use.repeats, use.movingRepeats, byCount),
    breaks: coincidence(use.breaks, use.movingBreaks, byTime),
  };
}

function coincidence(count: number, moving: number, share: number): Coincidence | null {
  if (count === 0) return null;
  return { count, moving, share, chance: binomialAtLeast(moving, count, share) };
}
