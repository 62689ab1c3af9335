/** How long one pass will take, from its steps. */
import type { PlannedStep } from "../events/plan.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { plannedMains } from "./mains.ts";

/**
 * Time of one conversion while the trip scan runs between, ms: 104 us at a 125 kHz converter clock
 * (13 cycles each), doubled because a rail channel is converted in turn.
 */
const CONVERSION_MS = 0.208;

/** Time of one exchange at 500000 baud with the host's own share, ms. */
const EXCHANGE_MS = 1.6;

/** Channels in one read command. */
const CHANNELS_PER_READ = 5;

/** Time that reading one channel takes, ms. */
export function readingMs(rig: Rig): number {
  const { mains } = plannedMains(rig);
  return mains === undefined ? (rig.samples + 1) * CONVERSION_MS : mains.samples;
}

/**
 * Estimated length of one pass after warm-up, ms; waits exact, reading times estimated.
 *
 * @param channelMs time that reading one channel takes
 */
export function estimatePassMs(steps: readonly PlannedStep[], channelMs: number): number {
  const total = steps.reduce((sum, step) => sum + stepMs(step, channelMs), 0);
  return Math.round(total);
}

function stepMs(step: PlannedStep, channelMs: number): number {
  if (step.kind === "pattern") {
    const names = [...Object.keys(step.expect), ...Object.keys(step.set)];
    return EXCHANGE_MS + step.settleMs + readMs(new Set(names).size, channelMs);
  }
  const channels = Object.keys(step.expect).length + Object.keys(step.inactive).length;
  const read = readMs(channels, channelMs);
  const pulseMs = 2 * (EXCHANGE_MS + step.settleMs) + read;
  return 2 * pulseMs + step.forMs + step.flip.forMs;
}

function readMs(channelCount: number, channelMs: number): number {
  const exchanges = Math.ceil(channelCount / CHANNELS_PER_READ);
  return exchanges * EXCHANGE_MS + channelCount * channelMs;
}
