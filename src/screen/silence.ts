/** A viewer that hears nothing of the run any more: what it shows is old, and must not look fresh. */
import { durationText } from "./duration-text.ts";

export interface Silence {
  /** Since the journal was last written to. */
  readonly ms: number;
  /** The program behind the run is known to be gone, so nothing more will come. */
  readonly isGone: boolean;
}

/** Short enough to stand whole beside the tall word on a screen of 80 columns. */
export function silenceSentence({ ms, isGone }: Silence): string {
  const why = isGone
    ? "The program of this run is gone."
    : `Nothing has been written for ${durationText(ms)}; its program may be gone.`;
  return `${why} What is shown is old: treat every rail as live.`;
}
