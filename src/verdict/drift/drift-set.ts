/** What drift is judged from: full sets of readings, and which section drives which net. */
import type { LevelClass, LevelContract, RailName } from "../../events/levels.ts";
import type { SetMoment } from "../../events/soak.ts";

/** One net in one step of a set, as it was expected to stand. */
interface NetReading {
  readonly step: number;
  readonly net: string;
  /** The class it was expected in: which section conducts follows from it. */
  readonly class: LevelClass;
  /** Null without a reading; never made up. */
  readonly volts: number | null;
}

/** A full set of readings, taken while the board cycles. */
export interface DriftSet {
  /** Counts from 1 over the run. */
  readonly set: number;
  /** One time on power; counts from 1. */
  readonly leg: number;
  /** Time with plate on over all legs of the run so far, hours: what wears a cathode. */
  readonly onHours: number;
  /** Since plate came on in this leg, minutes. */
  readonly minutesOn: number;
  readonly moment: SetMoment;
  readonly readings: readonly NetReading[];
  /** Board sides, volts; a rail without a reading is missing. */
  readonly rails: Readonly<Partial<Record<RailName, number>>>;
  /** The converter's reference as measured, volts; null where the rig does not. */
  readonly referenceV: number | null;
  /** Null where the rig has no sensor. */
  readonly celsius: number | null;
}

/** A section and the net whose low level it makes. */
export interface DriftStage {
  /** As the board file calls it, such as V1a. */
  readonly section: string;
  /** The bottle it is half of; null for a gate without a tube, which has no emission to lose. */
  readonly position: string | null;
  readonly inputs: readonly string[];
  readonly output: string;
}

export interface DriftBoard {
  readonly stages: readonly DriftStage[];
  /** What stands in each position, as far as a unit file says. */
  readonly serials?: Readonly<Record<string, string>> | undefined;
  readonly contract: LevelContract;
  /** Largest rise of a low level with the heaters low, volts, by the sequence; null or missing without one. */
  readonly riseMaxV?: number | null;
  /** Nets that the rig reads. */
  readonly measured: readonly string[];
}
