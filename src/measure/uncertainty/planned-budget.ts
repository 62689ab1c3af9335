/**
 * The budget a reading will have, from the files alone: at given volts, with a quiet converter. What only
 * a reading can tell, its noise, is missing here.
 */
import type { LevelClass } from "../../events/levels.ts";
import type { Plan, PlannedChannel } from "../../events/plan.ts";
import { channelCode } from "../channel-scale.ts";
import { toReading } from "../reading.ts";
import type { Budget } from "./budget.ts";
import { evaluateReading } from "./evaluate.ts";
import { type MeasuredReference, measuredReference } from "./scale-terms.ts";

const CODES = 1024;

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
  for (const { name, reads, referenceV } of channels) {
    if (reads.kind !== "reference" || accuracy === undefined) continue;
    const code = Math.floor((CODES * reads.volts) / referenceV);
    return measuredReference(quiet(name, code, samples), reads, accuracy);
  }
  return null;
}

function quiet(channel: string, code: number, count: number) {
  return { channel, sum: code * count, count, min: code, max: code };
}
