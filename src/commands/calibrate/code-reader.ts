/** Codes of channels that stand on a steady supply, with what the rig's own channels say beside them. */
import type { ControllerBench } from "../../bench/controller-bench.ts";
import { isUnknownHeader } from "../../bench/setting.ts";
import type { Clock } from "../../clock/clock.ts";
import type { Plan, PlannedChannel } from "../../events/plan.ts";
import {
  type CalibrationPoint,
  calibrationPoint,
  type ReferenceAtPoint,
  referenceAtPoint,
} from "../../measure/calibration-point.ts";
import { CODE_MAX, nodeVolts } from "../../measure/divider.ts";
import type { RawSums } from "../../measure/reading.ts";
import { celsiusOf, ownChannel } from "../../measure/rig-own.ts";
import { LINEARITY_STEPS } from "../../measure/uncertainty/scale-terms.ts";

/** Sums are taken this often, so that a supply that still moves shows. */
const ROUNDS = 4;
const SAMPLES = 64;
/** Filters have settled to less than a step after ten time constants; a supply takes longer. */
const SETTLE_MS = 100;
const TIME_CONSTANTS = 10;
/** Between the first and the last round. Code steps. */
const MOVED_STEPS = 2;

export interface CodesRead {
  readonly codes: ReadonlyMap<string, RawSums>;
  /** Null where the rig does not measure its reference. */
  readonly reference: ReferenceAtPoint | null;
  /** Channels whose volts moved while they were read. */
  readonly moved: readonly string[];
  /** The known source gave no reading that can be used. */
  readonly isReferenceLost: boolean;
}

export class CodeReader {
  readonly #controller: ControllerBench;
  readonly #clock: Clock;
  readonly #plan: Plan;

  constructor(parts: {
    readonly controller: ControllerBench;
    readonly clock: Clock;
    readonly plan: Plan;
  }) {
    this.#controller = parts.controller;
    this.#clock = parts.clock;
    this.#plan = parts.plan;
  }

  /** @throws BenchError */
  async read(channels: readonly PlannedChannel[]): Promise<CodesRead> {
    const own = ownChannel(this.#plan.channels, "reference")?.channel;
    const all = [...(own === undefined ? [] : [own]), ...channels];
    const slowestUs = Math.max(0, ...all.map(({ filterUs = 0 }) => filterUs));
    await this.#clock.delay(SETTLE_MS + (TIME_CONSTANTS * slowestUs) / 1000);
    const rounds: ReadonlyMap<string, RawSums>[] = [];
    for (let round = 0; round < ROUNDS; round += 1) rounds.push(await this.#round(all));
    const codes = new Map(all.map(({ name }) => [name, together(name, rounds)]));
    const raw = own === undefined ? undefined : codes.get(own.name);
    const reference =
      own === undefined || raw === undefined || !isInside(raw)
        ? null
        : referenceAtPoint(raw, own, this.#plan.accuracy?.linearitySteps ?? LINEARITY_STEPS);
    return {
      codes,
      reference,
      moved: all.map(({ name }) => name).filter((name) => hasMoved(name, rounds)),
      isReferenceLost: own !== undefined && reference === null,
    };
  }

  /** Degrees Celsius; null where the rig has no sensor, or nothing sensible comes of it. */
  async celsius(): Promise<number | null> {
    const own = ownChannel(this.#plan.channels, "temperature");
    if (own === null) return null;
    const { channel, reads } = own;
    const { codes, reference } = await this.read([channel]);
    const raw = codes.get(channel.name);
    if (raw === undefined || !isInside(raw)) return null;
    const referenceV = reference?.referenceV ?? channel.referenceV;
    return celsiusOf(nodeVolts(raw.sum / raw.count, channel.divider, referenceV), reads);
  }

  async #round(channels: readonly PlannedChannel[]): Promise<ReadonlyMap<string, RawSums>> {
    const names = channels.map(({ name }) => name);
    const read = await this.#overMains(names);
    return new Map(read.map((raw) => [raw.channel, raw]));
  }

  /** Over whole periods of the mains where the rig names them and the firmware can. */
  async #overMains(names: readonly string[]): Promise<RawSums[]> {
    const { mains } = this.#plan;
    if (mains === undefined) return this.#controller.read(names, SAMPLES);
    try {
      return await this.#controller.readSpread(names, mains.samples);
    } catch (error) {
      if (!isUnknownHeader(error)) throw error;
      return this.#controller.read(names, SAMPLES);
    }
  }
}

/** The point of one channel. */
export function pointOf(
  channel: string,
  meter: { readonly meterV: number; readonly digitV: number },
  { codes, reference }: CodesRead,
): CalibrationPoint {
  const raw = codes.get(channel);
  if (raw === undefined) throw new RangeError(`no codes of ${channel} were read`);
  return calibrationPoint(meter, raw, reference);
}

function together(name: string, rounds: readonly ReadonlyMap<string, RawSums>[]): RawSums {
  const all = rounds.flatMap((round) => round.get(name) ?? []);
  return {
    channel: name,
    sum: all.reduce((total, { sum }) => total + sum, 0),
    count: all.reduce((total, { count }) => total + count, 0),
    min: Math.min(...all.map(({ min }) => min)),
    max: Math.max(...all.map(({ max }) => max)),
  };
}

function hasMoved(name: string, rounds: readonly ReadonlyMap<string, RawSums>[]): boolean {
  const [first, last] = [rounds[0]?.get(name), rounds.at(-1)?.get(name)];
  if (first === undefined || last === undefined) return true;
  return Math.abs(first.sum / first.count - last.sum / last.count) > MOVED_STEPS;
}

function isInside({ min, max }: RawSums): boolean {
  return min > 0 && max < CODE_MAX;
}
