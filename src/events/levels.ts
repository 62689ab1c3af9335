/** Words for levels and verdicts, shared by every layer. */

/** Class of a level as the receiver sees it: at or below VIL low, at or above VIH high, else between. */
export type LevelClass = "low" | "between" | "high";

/** The two levels a line can be driven to. */
export type DrivenLevel = "low" | "high";

/** Level contract of a board, volts to common. volV <= vilV < vihV <= vohV. */
export interface LevelContract {
  readonly volV: number;
  readonly vilV: number;
  readonly vihV: number;
  readonly vohV: number;
}

export type Verdict =
  | "pass"
  | "conditional pass"
  | "conditional fail"
  | "fail"
  | "void"
  | "not tested";

/** What one required reading, or a step of them, came to. */
export type ResultClass = "pass" | "conditional pass" | "conditional fail" | "fail" | "void";

/** Supplies in the order they are raised. */
export type RailName = "heater" | "bias" | "plate";

/** Why a channel gave no reading; a value is never made up in its place. */
export type NoReadingReason =
  | "clipped"
  | "torn"
  | "stale"
  | "lead not proved"
  | "link lost"
  | "reference doubtful";
