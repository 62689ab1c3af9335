/** Class of a level as the receiver sees it. */
import type { ChannelReading } from "../events/events.ts";
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

/**
 * Class of a reading that nothing is expected of yet: of one with ripple, the class that both ends of it
 * have, else between. The mean of a level that goes to and fro is no level.
 *
 * @returns null for no reading
 */
export function classOfReading(
  { volts, rippleV, highestV }: Pick<ChannelReading, "volts" | "rippleV" | "highestV">,
  contract: LevelContract,
): LevelClass | null {
  if (volts === null) return null;
  if (rippleV === undefined || highestV === undefined) return classOf(volts, contract);
  const highest = classOf(highestV, contract);
  return classOf(highestV - rippleV, contract) === highest ? highest : "between";
}
