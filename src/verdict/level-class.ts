/** Class of a level as the receiver sees it. */
import type { LevelClass, LevelContract } from "../events/levels.ts";

/**
 * At or below VIL is low, at or above VIH is high, anything else is between.
 *
 * @param volts volts to common, finite
 * @throws RangeError when volts is not finite: a missing reading has no class
 */
export function classOf(volts: number, contract: LevelContract): LevelClass {
  if (!Number.isFinite(volts)) {
    throw new RangeError(`Expected finite volts to class, got ${volts}.`);
  }
  if (volts <= contract.vilV) {
    return "low";
  }
  return volts >= contract.vihV ? "high" : "between";
}
