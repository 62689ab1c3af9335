/**
 * The rig as it stands now: the converter's reference as measured by a source of known volts, the shift
 * of the board's common, and how warm it is. Nothing here is known better than its own channel reads it.
 */
import type { ChannelReading, ReadingBudget } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { Plan, PlannedAccuracy, PlannedChannel } from "../events/plan.ts";
import { referenceByKnown } from "../measure/channel-scale.ts";
import { voltsPerCode } from "../measure/divider.ts";
import type { RawSums } from "../measure/reading.ts";
import { toReading } from "../measure/reading.ts";
import { celsiusOf } from "../measure/rig-own.ts";
import { budgetForJson } from "../measure/uncertainty/budget.ts";
import {
  type Evaluated,
  evaluateReading,
  type RigNow,
  withUncertainty,
} from "../measure/uncertainty/evaluate.ts";
import { measuredReference } from "../measure/uncertainty/scale-terms.ts";
import { classOf } from "../verdict/level-class.ts";
import { GroundBook } from "./ground-book.ts";

/** A USB supply is within 10 % (5 V, 4.40 V at a port of low power: USB 2.0, 7.2.2); beyond that something is wrong. */
const REFERENCE_PART_MAX = 0.12;
/** Told once: a supply that moves so far under load carries every reading with it. */
const DRIFT_PART = 0.01;
/** An analogue sensor without adjustment, common practice. Kelvin. */
const SENSOR_K = 2;

type RigKind = "reference" | "ground" | "temperature";
const KINDS: readonly RigKind[] = ["reference", "temperature", "ground"];

/** What a watch needs to know of the run it is in. */
export interface Surroundings {
  /** Something a person should know of the rig; said once. */
  say(text: string): void;
  /** What drops volts on the way to common now. */
  on(): { readonly heaters: boolean; readonly coils: boolean };
}

export class RigWatch {
  readonly #given: Plan;
  readonly #surroundings: Surroundings;
  readonly #ground = new GroundBook();
  #plan: Plan;
  #accuracy: PlannedAccuracy | undefined;
  #now: RigNow = { reference: null, ground: null };
  #firstV: number | null = null;
  #driftTold = false;
  #isDoubtful = false;
  #celsius: number | null = null;
  readonly #newest = new Map<string, Evaluated>();
  /** Net and class of the budgets already told. */
  readonly #told = new Set<string>();

  constructor(plan: Plan, surroundings: Surroundings) {
    this.#given = plan;
    this.#plan = plan;
    this.#accuracy = plan.accuracy;
    this.#surroundings = surroundings;
  }

  /** The plan with every channel's reference as it was measured last. */
  get plan(): Plan {
    return this.#plan;
  }

  /** Channels to be read before what they bear upon, in the order to be understood. */
  get channels(): string[] {
    return KINDS.filter((kind) =>
      this.#given.channels.some(({ reads }) => reads.kind === kind),
    ) as string[];
  }

  /** The reference could not be measured, or is nowhere near what it should be: no reading can be trusted. */
  get isDoubtful(): boolean {
    return this.#isDoubtful;
  }

  /** The converter's reference as measured, volts, and the rig's temperature; null where not measured. */
  get measured(): { readonly referenceV: number | null; readonly celsius: number | null } {
    const has = this.#given.channels.some(({ reads }) => reads.kind === "reference");
    const referenceV =
      has && !this.#isDoubtful ? (this.#plan.channels[0]?.referenceV ?? null) : null;
    return { referenceV, celsius: this.#celsius };
  }

  /** What the ground shift was over the run, in words; null where the rig does not measure it. */
  groundWords(): string | null {
    return this.#ground.words();
  }

  /** @returns whether the codes were of one of the rig's own channels */
  learn(raw: RawSums, channel: PlannedChannel): boolean {
    const { reads } = channel;
    if (reads.kind === "reference") this.#learnReference(raw, channel, reads);
    else if (reads.kind === "ground") this.#learnGround(raw, channel);
    else if (reads.kind === "temperature") this.#learnTemperature(raw, channel, reads);
    else return false;
    return true;
  }

  /** A net or line with its uncertainty, where that is evaluated. */
  evaluate(reading: ChannelReading, channel: PlannedChannel, overMains: boolean): ChannelReading {
    const { contract, rule } = this.#given;
    const isLevel = channel.reads.kind === "net" || channel.reads.kind === "line";
    if (rule?.evaluated !== true || this.#accuracy === undefined || !isLevel) return reading;
    const evaluated = evaluateReading(reading, {
      channel,
      accuracy: this.#accuracy,
      now: this.#now,
      overMains,
      classOf: (volts) => classOf(volts, contract),
    });
    if (evaluated === null) return reading;
    this.#newest.set(channel.name, evaluated);
    return withUncertainty(reading, evaluated);
  }

  /**
   * What the newest U of a net is made of, the first time it is asked for in this class.
   *
   * @returns null when it was told before, or is not evaluated
   */
  freshBudget(channel: string, found: LevelClass): ReadingBudget | null {
    const evaluated = this.#newest.get(channel);
    const key = `${channel} ${found}`;
    if (evaluated === undefined || this.#told.has(key)) return null;
    this.#told.add(key);
    const { volts, budget } = evaluated;
    return { channel, class: found, volts, ...budgetForJson(budget) };
  }

  #learnReference(
    raw: RawSums,
    channel: PlannedChannel,
    reads: Extract<PlannedChannel["reads"], { kind: "reference" }>,
  ): void {
    const code = raw.sum / raw.count;
    const nominalV = channel.referenceV;
    const given = this.#given.channels.find(({ name }) => name === channel.name) ?? channel;
    const isReading = toReading(raw, given, true).volts !== null && code > 0;
    const measuredV = isReading ? referenceByKnown(reads.volts, code) : nominalV;
    this.#isDoubtful =
      !isReading || Math.abs(measuredV / given.referenceV - 1) > REFERENCE_PART_MAX;
    if (this.#isDoubtful) return;
    this.#firstV ??= measuredV;
    if (!this.#driftTold && Math.abs(measuredV / this.#firstV - 1) > DRIFT_PART) {
      this.#driftTold = true;
      this.#surroundings.say(
        `the converter's reference went from ${this.#firstV.toFixed(3)} to ${measuredV.toFixed(3)} V during this run: readings follow it, but look at the controller's supply`,
      );
    }
    if (this.#accuracy !== undefined) {
      const reference = measuredReference(raw, reads, this.#accuracy);
      this.#now = { ...this.#now, reference };
    }
    const channels = this.#given.channels.map((one) => ({ ...one, referenceV: measuredV }));
    this.#plan = { ...this.#given, channels };
  }

  #learnGround(raw: RawSums, channel: PlannedChannel): void {
    const reading = toReading(raw, channel, true);
    const accuracy = this.#accuracy;
    if (accuracy === undefined) return;
    const facts = {
      channel,
      accuracy,
      now: { ...this.#now, ground: null },
      overMains: false,
      classOf: () => "low" as const,
    };
    const evaluated = evaluateReading(reading, facts);
    if (evaluated !== null) this.#ground.learn(evaluated.volts, this.#surroundings.on());
    this.#now = {
      ...this.#now,
      ground:
        evaluated === null ? null : { volts: evaluated.volts, halfV: evaluated.budget.expandedV },
    };
  }

  #learnTemperature(
    raw: RawSums,
    channel: PlannedChannel,
    reads: Extract<PlannedChannel["reads"], { kind: "temperature" }>,
  ): void {
    const { accuracy, calibration } = this.#given;
    const { volts } = toReading(raw, channel, true);
    const celsius = volts === null ? null : celsiusOf(volts, reads);
    this.#celsius = celsius;
    if (accuracy === undefined || celsius === null || calibration?.celsius === undefined) return;
    const stepK = voltsPerCode(channel.divider, channel.referenceV) / reads.voltsPerK;
    const spanK = Math.abs(celsius - calibration.celsius) + SENSOR_K + stepK;
    this.#accuracy = { ...accuracy, spanK };
  }
}
