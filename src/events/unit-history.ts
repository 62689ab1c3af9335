/** What soaks of one unit taught of its levels: how each moves with rails, reference and temperature. */

/** Of one level, as one run or several left it. */
export interface LearnedLevel {
  readonly net: string;
  readonly class: "low" | "high";
  /** Volts, at the middles of the influences then; one value a run, oldest first. */
  readonly levelsV: readonly number[];
  readonly influences: readonly string[];
  /** Volts a unit of each influence, and their covariance by rows. */
  readonly coefficients: readonly number[];
  readonly covariance: readonly number[];
}

export interface UnitHistory {
  /** Runs behind it. */
  readonly runs: number;
  readonly levels: readonly LearnedLevel[];
}

/** What a soak knew of its unit when it began. Written into its journal, so that it is judged by it for ever. */
export interface TaughtBefore {
  /** Name of the newest soak behind it. */
  readonly newest: string;
  readonly history: UnitHistory;
}
