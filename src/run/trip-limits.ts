/** The limits, in codes, at which the controller switches off by itself. */
import type { TripLimit } from "../bench/bench.ts";
import type { Plan, PlannedChannel, PlannedRail } from "../events/plan.ts";
import { channelCode } from "../measure/channel-scale.ts";
import { CODE_MAX } from "../measure/divider.ts";
import { RunFault } from "./ending.ts";

/**
 * Limits of one rail's two channels.
 *
 * Bias trips outside its window, because the controller refuses plate by that very limit. Heater
 * and plate trip beyond their ceiling; below their window supervision ends the run, since a board
 * side at zero is what they show before they are switched.
 */
export function tripLimitsOf(rail: PlannedRail, plan: Plan): TripLimit[] {
  return [rail.sourceChannel, rail.boardChannel].map((name) => {
    const channel = channelNamed(name, plan);
    return rail.rail === "bias" ? windowLimit(rail, channel) : ceilingLimit(rail, channel);
  });
}

/** The last code says only "at or beyond", so no limit may let it pass, and none the first where volts are negative. */
const HIGHEST_LIMIT = CODE_MAX - 1;
const LOWEST_LIMIT = 1;

/** Rounded inward: a limit may fire a fraction of a step early, never late. */
function windowLimit({ window }: PlannedRail, channel: PlannedChannel): TripLimit {
  return {
    channel: channel.name,
    low: Math.max(LOWEST_LIMIT, channelCode(window.lowV, channel, "up")),
    high: Math.min(HIGHEST_LIMIT, channelCode(window.highV, channel, "down")),
  };
}

function ceilingLimit({ ceilingV }: PlannedRail, channel: PlannedChannel): TripLimit {
  const { name } = channel;
  if (ceilingV > 0) {
    const high = channelCode(ceilingV, channel, "down");
    return { channel: name, low: 0, high: Math.min(HIGHEST_LIMIT, high) };
  }
  const low = channelCode(ceilingV, channel, "up");
  return { channel: name, low: Math.max(LOWEST_LIMIT, low), high: CODE_MAX };
}

/** Code at or below which the plate's board side counts as fallen: never above its safe volts. */
export function plateFallenCode(plate: PlannedRail, plan: Plan): number {
  return channelCode(plate.safeV, channelNamed(plate.boardChannel, plan), "down");
}

/** @throws RunFault "plan-inconsistent" when the plan lists no such channel */
export function channelNamed(name: string, plan: Plan): PlannedChannel {
  const channel = plan.channels.find((one) => one.name === name);
  if (channel === undefined) {
    throw new RunFault("plan-inconsistent", `Expected channel ${name} in the plan, it lists none.`);
  }
  return channel;
}
