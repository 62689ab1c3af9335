/**
 * A reading with its uncertainty: the volts the net has without the rig on it, and the half-width that
 * holds them 95 times in a hundred. The budget can be printed; the run keeps U.
 */
import type { ChannelReading } from "../../events/events.ts";
import type { LevelClass } from "../../events/levels.ts";
import type { PlannedAccuracy, PlannedChannel } from "../../events/plan.ts";
import { voltsPerCode } from "../divider.ts";
import { type Budget, combineTerms } from "./budget.ts";
import { loadingOf } from "./loading.ts";
import { samplingTerms } from "./sampling-terms.ts";
import { type MeasuredReference, scaleTerms } from "./scale-terms.ts";
import { arcsineTerm, magnify, rectangularTerm, type UncertaintyTerm } from "./term.ts";

/** What the rig's own channels said about the time of a reading. */
export interface RigNow {
  /** Null where the rig has no reference of known volts. */
  readonly reference: MeasuredReference | null;
  /** The board's common above the controller's, and what that may be off by; null where not measured. */
  readonly ground: { readonly volts: number; readonly halfV: number } | null;
}

export interface EvaluationFacts {
  /** With the reference as it is now. */
  readonly channel: PlannedChannel;
  readonly accuracy: PlannedAccuracy;
  readonly now: RigNow;
  /** Taken over whole periods of the mains, which average its hum out. */
  readonly overMains: boolean;
  /** Class of the volts as read, for which of its two source resistances a net has. */
  readonly classOf: (volts: number) => LevelClass;
}

export interface Evaluated {
  /** Corrected for loading and ground shift. */
  readonly volts: number;
  readonly budget: Budget;
}

/** @returns null for no reading: there is nothing to be uncertain of */
export function evaluateReading(reading: ChannelReading, facts: EvaluationFacts): Evaluated | null {
  if (reading.volts === null) return null;
  const { channel, accuracy, now, overMains } = facts;
  const stepV = Math.abs(
    (channel.calibration?.gain ?? 1) * voltsPerCode(channel.divider, channel.referenceV),
  );
  const humV = overMains ? 0 : (channel.humV ?? 0);
  const terms: UncertaintyTerm[] = [
    ...samplingTerms(reading, stepV, (channel.humV ?? 0) / stepV),
    ...scaleTerms({
      channel,
      accuracy,
      codeMean: reading.sum / reading.count,
      reference: now.reference,
    }),
  ];
  if (humV > 0) terms.push(arcsineTerm("hum", humV, "pick-up as the rig check saw it"));
  // The converter truncates; a calibration has found that already, together with its other offsets.
  let volts = reading.volts + (channel.calibration === undefined ? stepV / 2 : 0);
  if (now.ground !== null) {
    volts -= now.ground.volts;
    terms.push(rectangularTerm("ground", now.ground.halfV, "shift of common, corrected"));
  }
  // A driven line is judged as it stands at the board, its source and this divider with it.
  if (channel.reads.kind === "net") {
    const { source, referenceV, divider } = channel;
    const loading = loadingOf(volts, facts.classOf(volts), divider, { source, referenceV });
    volts += loading.correctionV;
    const magnified = terms.map((term) => magnify(term, loading.factor));
    return { volts, budget: combineTerms([...magnified, loading.term]) };
  }
  return { volts, budget: combineTerms(terms) };
}

/** The reading with its corrected volts and U; a reading that is none stays as it is. */
export function withUncertainty(
  reading: ChannelReading,
  { volts, budget }: Evaluated,
): ChannelReading {
  if (reading.volts === null) return reading;
  const { highestV } = reading;
  return {
    ...reading,
    volts,
    expandedV: budget.expandedV,
    ...(highestV === undefined ? {} : { highestV: highestV + volts - reading.volts }),
  };
}
