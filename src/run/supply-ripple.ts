/**
 * Whether a supply stands still over a period of the mains. An AC supply may be inside its window at the
 * moment of a quick reading; over a period it shows what it is.
 */
import type { PlannedRail } from "../events/plan.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { voltsText } from "../measure/volts-text.ts";
import { within } from "./deadline.ts";
import { type Ending, ending } from "./ending.ts";
import { windowText } from "./rail-checks.ts";
import type { RunParts } from "./run-parts.ts";
import { benchDeadlineMs } from "./timing.ts";
import { channelNamed } from "./trip-limits.ts";

/**
 * Refuse a supply that swings by more than its window is wide: it cannot be inside all the time. The
 * codes are evidence against it only, never a reading, so clipped ones count too.
 *
 * @returns why not to go on; null when it stands still, or where the rig does not name its mains
 */
export async function swingOfSupply(
  rail: PlannedRail,
  { bench, clock, plan }: Pick<RunParts, "bench" | "clock" | "plan">,
): Promise<Ending | null> {
  const { mains } = plan;
  if (mains === undefined) return null;
  const net = rail.sourceChannel;
  const [raw] = await within(
    { clock, limitMs: benchDeadlineMs, what: `a period of ${net}` },
    bench.readSpread([net], mains.samples),
  );
  if (raw === undefined) return null;
  const channel = channelNamed(net, plan);
  const lowestV = channelVolts(raw.min, channel);
  const highestV = channelVolts(raw.max, channel);
  if (highestV - lowestV <= rail.window.highV - rail.window.lowV) return null;
  return ending(
    "supply refused",
    `${net} swings from ${voltsText(lowestV)} to ${voltsText(highestV)} in ${mains.samples} ms, expected it to stay ` +
      `inside ${windowText(rail)}. An AC supply, or one without a reservoir, cannot be watched here: feed ${rail.rail} from DC.`,
    { code: "supply-swings", net },
  );
}
