/** What a sequence file means, in words. */
import type { LineLevels, PlannedStep } from "../../events/plan.ts";
import type { Sequence } from "../../formats/sequence.schema.ts";
import { countSteps, flattenSteps, STEPS_MAX } from "../../plan/flatten-steps.ts";
import { duration, smallVolts } from "../../plan/quantity-words.ts";

/** Steps printed one a line; a longer pass says how many more there are. */
const STEP_LINES_MAX = 200;

/** @param passMs time of one pass as planned; null where there is no rig to plan it on */
export function describeSequence(sequence: Sequence, passMs: number | null): string[] {
  const { warmUp } = sequence;
  const count = countSteps(sequence);
  const time = passMs === null ? "" : `, one pass takes about ${duration(passMs)}`;
  const printed = count > STEPS_MAX ? [] : flattenSteps(sequence).slice(0, STEP_LINES_MAX);
  const rest = count - printed.length;
  return [
    `Warm-up: warm within ${duration(warmUp.timeoutMs)}, steady within ${smallVolts(warmUp.steady.bandV)} over ${duration(warmUp.steady.forMs)}`,
    ...warmUp.exercise.map(
      ({ set, settleMs, pullsLow }) =>
        `  ${levels(set)}; wait ${duration(settleMs)}; pulls ${pullsLow.join(", ")} low`,
    ),
    `Steps of ${sequence.sequence}: ${count}${time}`,
    ...printed.map(({ step }) => `  ${step.index + 1} ${step.name}: ${stepWords(step)}`),
    ...(rest > 0 ? [`  and ${rest} more`] : []),
  ];
}

function stepWords(step: PlannedStep): string {
  const note = step.note === null ? "" : ` (${step.note})`;
  if (step.kind === "pattern") {
    return `${levels(step.set)}; wait ${duration(step.settleMs)}; ${levels(step.expect)}${note}`;
  }
  const move =
    step.move.length === 0
      ? "nothing moves"
      : `${step.move.join(", ")} moved every ${duration(step.moveEveryMs)}`;
  return `hold ${levels(step.expect)} for ${duration(step.forMs)} after ${levels(step.enter)}, released to ${levels(step.release)}; ${move}; read every ${duration(step.readEveryMs)}; then flip by ${levels(step.flip.enter)} and hold ${levels(step.flip.expect)} for ${duration(step.flip.forMs)}${note}`;
}

function levels(set: LineLevels | Readonly<Record<string, string>>): string {
  const words = Object.entries(set).map(([name, level]) => `${name} ${level}`);
  return words.length === 0 ? "no line changes" : words.join(", ");
}
