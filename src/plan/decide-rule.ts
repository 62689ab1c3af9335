/**
 * How the readings of a run will be held to the contract, decided from the files before anything is
 * measured: whether the uncertainty of every judged net can be evaluated, and what weakens it.
 */
import type {
  Plan,
  PlannedAccuracy,
  PlannedChannel,
  PlannedRule,
  PlannedStep,
} from "../events/plan.ts";
import type { Board } from "../formats/board.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { LINEARITY_STEPS } from "../measure/uncertainty/scale-terms.ts";

/** Metal film resistors of the same series: 100 ppm a kelvin each, at worst the other way round. */
const PPM_PER_K = 100;
const SPAN_K = 10;

/** What the rig file says of its parts, with what it leaves out; null when it says nothing. */
export function plannedAccuracy({ accuracy }: Rig): PlannedAccuracy | null {
  if (accuracy === undefined) return null;
  const { resistorPercent, referencePercent } = accuracy;
  const { linearitySteps = LINEARITY_STEPS, ppmPerK = PPM_PER_K, spanK = SPAN_K } = accuracy;
  return {
    resistorPart: resistorPercent / 100,
    referencePart: referencePercent / 100,
    linearitySteps,
    perK: ppmPerK / 1e6,
    spanK,
  };
}

/** Nets that the steps judge, in the order of the channels. */
function judgedChannels(
  channels: readonly PlannedChannel[],
  steps: readonly PlannedStep[],
): PlannedChannel[] {
  const names = new Set(
    steps.flatMap((step) =>
      Object.keys(step.kind === "pattern" ? step.expect : { ...step.expect, ...step.flip.expect }),
    ),
  );
  return channels.filter(({ name }) => names.has(name));
}

/**
 * @param calibrationRemarks what is to be said of the calibration, one clause each
 * @returns the rule; guarded without being asked for wherever it can be
 */
export function decideRule(
  { board, rig }: { readonly board: Board; readonly rig: Rig },
  channels: readonly PlannedChannel[],
  steps: readonly PlannedStep[],
  calibrationRemarks: readonly string[] = [],
): PlannedRule {
  const evaluated = rig.accuracy !== undefined;
  const name = board.rule ?? (evaluated ? "guarded" : "simple");
  if (!evaluated) return { name, evaluated, remarks: [NOT_EVALUATED, ...calibrationRemarks] };
  const judged = judgedChannels(channels, steps);
  const named = (which: readonly PlannedChannel[]) => which.map((one) => one.name).join(", ");
  const bare = judged.filter(({ calibration }) => calibration === undefined);
  const unknown = judged.filter(({ source }) => source === undefined);
  return {
    name,
    evaluated,
    remarks: [
      ...calibrationRemarks,
      ...(bare.length === 0
        ? []
        : [`${named(bare)} not calibrated: tolerances of parts and reference count in full`]),
      ...(unknown.length === 0
        ? []
        : [
            `source resistance of ${named(unknown)} not known: the loading is bounded and widens U`,
          ]),
      ...pickUpRemarks({ channels, steps, mains: rig.mains }),
      ...(rig.ground === undefined ? ["ground shift not measured and not in U"] : []),
    ],
  };
}

/** Of nets that are judged on quick readings and of whose hum nothing is known. */
export function pickUpRemarks({
  channels,
  steps,
  mains,
}: Pick<Plan, "channels" | "steps"> & { readonly mains?: unknown }): string[] {
  if (mains !== undefined) return [];
  const names = judgedChannels(channels, steps)
    .filter(({ humV }) => humV === undefined)
    .map(({ name }) => name);
  return names.length === 0
    ? []
    : [`pick-up on ${names.join(", ")} not known: no rig check has measured it`];
}

const NOT_EVALUATED =
  "uncertainty not evaluated: the rig file does not say how good its parts are (accuracy)";
