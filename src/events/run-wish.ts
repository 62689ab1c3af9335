/**
 * What a person at the keys may ask of a run besides stopping it. A wish that does not fit the
 * state of the run is refused, and refusing changes nothing.
 */
import type { DrivenLevel } from "./levels.ts";

export type RunWish =
  /** Hand mode: drive one line. */
  | { readonly kind: "drive"; readonly line: string; readonly level: DrivenLevel }
  /** Hand mode: drive a line to its other level and back. */
  | { readonly kind: "pulse"; readonly line: string }
  /** Frozen: do the step once more. */
  | { readonly kind: "repeat" }
  /** Frozen: do this step and the frozen one in turn until told otherwise; null stands still. */
  | { readonly kind: "loop"; readonly with: number | null }
  /** Hand mode, frozen, standby: nothing more is wanted, power down. */
  | { readonly kind: "let go" }
  /** Standby: a next run takes the warm heaters over; it must be ready to start. */
  | { readonly kind: "next run" };

/** Null when the wish was taken, else in one sentence why not. */
export type WishAnswer = string | null;

/** The answer while earlier wishes are still being carried out; asking again later is right. */
export const STILL_BUSY = "Still busy with what was asked before.";
