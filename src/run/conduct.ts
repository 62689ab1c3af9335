import type { SettableSupply } from "../bench/settable-supply.ts";
import type { RunMode } from "../events/events.ts";
import type { SoakBook } from "./soak-book.ts";
import type { WallWatch } from "./wall-watch.ts";

/** How a run is to be conducted, fixed before it begins. Every time on with nobody's need is bounded. */

export interface RunConduct {
  readonly mode: RunMode;
  /** Longest time the lines are a person's in hand mode, ms. */
  readonly handMs: number;
  /** Stop with power on at the first step that does not pass, this long at most; null powers down. */
  readonly freezeMs: number | null;
  /** Keep the heaters on after a pass or a miss, this long at most; null powers down. */
  readonly standbyMs: number | null;
  /** What a soak counts in, over all its legs; null exactly where the run is none. */
  readonly soak: SoakBook | null;
  /** Supplies that can be turned; missing where there are none. */
  readonly supplies?: readonly SettableSupply[];
  /** Watches the wall clock over all legs of a soak; missing where nobody does. */
  readonly wall?: WallWatch;
}

export const PLAIN_PROOF: RunConduct = {
  mode: "proof",
  handMs: 0,
  freezeMs: null,
  standbyMs: null,
  soak: null,
};
