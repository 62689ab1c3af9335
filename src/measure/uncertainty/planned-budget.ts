/**
 * The budget a reading will have, from the files alone: at given volts, with a quiet converter. What only
 * a reading can tell, its noise, is missing here.
 */
import type { LevelClass } from "../../events/levels.ts";
import type { Plan, PlannedChannel } from "../../events/plan.ts";
import { channelCode } from "../channel-scale.ts";
import { CODES } from "../divider.ts";
import { toReading } from "../reading.ts";
import { ownChannel } from "../rig-own.ts";
import type { Budget } from "./budget.ts";
import { evaluateReading } from "./evaluate.ts";
import { type MeasuredReference, measuredReference } from "./scale-terms.ts";

/** @returns null where the plan does not evaluate uncertainty, or the volts cannot be read */
export function plannedBudget(
  channel: PlannedChannel,
  volts: number,
  found: LevelClass,
  plan: Pick<Plan, "accuracy" | "channels" | "samples" | "mains">,
): Budget | null {
  const { accuracy, samples, mains } = plan;
  if (accuracy === undefined) return null;
  const raw = quiet(channel.name, channelCode(volts, channel), samples);
  const evaluated = evaluateReading(toReading(raw, channel, true), {
    channel,
    accuracy,
    now: { reference: plannedReference(plan), ground: null },
    overMains: mains !== undefined,
    classOf: () => found,
  });
  return evaluated?.budget ?? null;
}

/** As it will be measured, where the rig has a channel for it. */
function plannedReference({
  accuracy,
  channels,
  samples,
}: Pick<Plan, "accuracy" | "channels" | "samples">): MeasuredReference | null {
  const own = ownChannel(channels, "reference");
  if (own === null || accuracy === undefined) return null;
  const { channel, reads } = own;
  const code = Math.floor((CODES * reads.volts) / channel.referenceV);
  return measuredReference(quiet(channel.name, code, samples), reads, accuracy);
}

function quiet(channel: string, code: number, count: number) {
  return { channel, sum: code * count, count, min: code, max: code };
}
