/** What the scale of a channel may be off by: its fit against a meter, or its parts; its reference; its warmth. */
import type { Divider, PlannedAccuracy } from "../../events/plan.ts";
import type { ScaledChannel } from "../channel-scale.ts";
import { nodeVolts, voltsPerCode } from "../divider.ts";
import type { RawSums } from "../reading.ts";
import { combinedU, effectiveDof } from "../statistics/effective-dof.ts";
import { samplingTerms } from "./sampling-terms.ts";
import { normalTerm, rectangularTerm, type UncertaintyTerm } from "./term.ts";

/** ATmega328P: absolute accuracy 2 LSB typical at 4 V (DS40002061B, table 28-16 and its siblings). */
export const LINEARITY_STEPS = 2;

/** The converter's reference as the rig measured it; everything as parts of 1. */
export interface MeasuredReference {
  /** What the known source may be off by, half-width. */
  readonly sourcePart: number;
  /** How far it may have gone since a calibration, which took the rest of it into its gains. */
  readonly driftPart: number;
  /** Of the reading of that source: noise, step and straightness of the converter there. */
  readonly reading: readonly UncertaintyTerm[];
}

/** @param raw codes of the known source, whose `part` it may be off by */
export function measuredReference(
  raw: RawSums,
  source: { readonly part: number; readonly driftPart?: number | undefined },
  { linearitySteps }: Pick<PlannedAccuracy, "linearitySteps">,
): MeasuredReference {
  const perStep = raw.count / raw.sum;
  return {
    sourcePart: source.part,
    driftPart: source.driftPart ?? source.part,
    reading: [
      ...samplingTerms(raw, perStep, 0),
      rectangularTerm("converter", linearitySteps * perStep, ""),
    ],
  };
}

export interface ScaleFacts {
  readonly channel: ScaledChannel;
  readonly accuracy: PlannedAccuracy;
  readonly codeMean: number;
  /** Null where the rig has no reference of known volts. */
  readonly reference: MeasuredReference | null;
}

export function scaleTerms(facts: ScaleFacts): UncertaintyTerm[] {
  const { channel, accuracy, codeMean } = facts;
  const markedV = nodeVolts(codeMean, channel.divider, channel.referenceV);
  const gain = channel.calibration?.gain ?? 1;
  const scaledV = Math.abs(gain * markedV);
  const stepV = gain * voltsPerCode(channel.divider, channel.referenceV);
  return [
    ...(channel.calibration === undefined
      ? dividerTerms(channel, accuracy, codeMean)
      : calibrationTerms(channel.calibration, markedV)),
    rectangularTerm(
      "converter",
      Math.max(accuracy.linearitySteps * Math.abs(stepV), channel.calibration?.residualV ?? 0),
      `straight to ${accuracy.linearitySteps} steps`,
    ),
    ...referenceTerms(facts, scaledV),
    rectangularTerm(
      "temperature",
      accuracy.perK * accuracy.spanK * scaledV,
      `${Math.round(accuracy.perK * 1e6)} ppm/K over ${accuracy.spanK} K`,
    ),
  ];
}

function calibrationTerms(
  { fit, meter, gain, offsetV }: NonNullable<ScaledChannel["calibration"]>,
  markedV: number,
): UncertaintyTerm[] {
  const variance = fit.offsetU ** 2 + 2 * markedV * fit.covariance + (markedV * fit.gainU) ** 2;
  const volts = Math.abs(offsetV + gain * markedV);
  return [
    normalTerm(
      "fit",
      Math.sqrt(Math.max(0, variance)),
      "calibration line",
      fit.dof ?? Number.POSITIVE_INFINITY,
    ),
    rectangularTerm(
      "meter",
      meter.part * volts + meter.volts,
      `${Number((100 * meter.part).toPrecision(3))} % and ${Number((1000 * meter.volts).toPrecision(3))} mV of the meter`,
    ),
  ];
}

/** Each resistor by itself, by how far the reading goes when it alone is at its tolerance. */
function dividerTerms(
  { divider, referenceV }: ScaledChannel,
  { resistorPart }: PlannedAccuracy,
  codeMean: number,
): UncertaintyTerm[] {
  const markedV = nodeVolts(codeMean, divider, referenceV);
  const halves = (["topOhm", "bottomOhm", "pullUpOhm"] as const).flatMap((part) => {
    const ohm = divider[part];
    if (ohm === null) return [];
    const off: Divider = { ...divider, [part]: ohm * (1 + resistorPart) };
    return [nodeVolts(codeMean, off, referenceV) - markedV];
  });
  return halves.map((half) =>
    rectangularTerm(
      "divider",
      Math.abs(half),
      `a resistor within ${Number((100 * resistorPart).toPrecision(3))} %`,
    ),
  );
}

function referenceTerms(
  { accuracy, channel, reference }: ScaleFacts,
  scaledV: number,
): UncertaintyTerm[] {
  if (reference === null) {
    const percent = Number((100 * accuracy.referencePart).toPrecision(3));
    return [rectangularTerm("reference", accuracy.referencePart * scaledV, `within ${percent} %`)];
  }
  // A calibration with the same source has taken what that is off into its gain.
  const isInGain = channel.calibration?.referenceV !== undefined;
  const part = isInGain ? reference.driftPart : reference.sourcePart;
  const percent = Number((100 * part).toPrecision(3));
  const basis = isInGain
    ? `measured by a source that may have gone ${percent} % since the calibration`
    : `measured by a source within ${percent} %`;
  return [
    rectangularTerm("reference", part * scaledV, basis),
    normalTerm(
      "reference",
      scaledV * combinedU(reference.reading),
      "its reading",
      effectiveDof(reference.reading),
    ),
  ];
}
