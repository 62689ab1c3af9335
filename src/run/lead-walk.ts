/**
 * Walking the leads of an unpowered board: everything is read on and on, and each point is judged when
 * a touch has been seen, settled and gone again. Nothing is switched; every output stays released.
 */
import type { Bench } from "../bench/bench.ts";
import type { Clock } from "../clock/clock.ts";
import type { Plan, PlannedChannel } from "../events/plan.ts";
import { channelVolts } from "../measure/channel-scale.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { voltsText } from "../measure/volts-text.ts";
import { judgeTouch, movers, type WalkFinding, type WalkVolts } from "../verdict/lead-walk.ts";
import { RunFault } from "./ending.ts";

/** Between two looks, ms: quick enough to feel live. */
const LOOK_EVERY_MS = 100;
/** Looks in a row that a touch must last before it is judged: a clip scrapes. */
const TOUCH_LOOKS = 3;
const SAMPLES = 32;

export interface WalkParts {
  readonly plan: Plan;
  readonly bench: Bench;
  readonly clock: Clock;
}

export class LeadWalk {
  readonly #parts: WalkParts;
  readonly #channels: readonly PlannedChannel[];
  readonly #stepV: ReadonlyMap<string, number>;
  #before: WalkVolts = new Map();

  constructor(parts: WalkParts) {
    this.#parts = parts;
    this.#channels = parts.plan.channels.filter(
      ({ reads }) => reads.kind === "net" || reads.kind === "line",
    );
    this.#stepV = new Map(
      this.#channels.map(({ name, divider, referenceV }) => [
        name,
        voltsPerCode(divider, referenceV),
      ]),
    );
  }

  /** Points to touch, in the order of the plan. */
  get points(): string[] {
    return this.#channels.map(({ name }) => name);
  }

  /**
   * Make sure that nothing is live, and take what every point shows untouched.
   *
   * @throws RunFault "rail-live" when a rail's board side is not near zero: then nobody may touch
   */
  async begin(): Promise<void> {
    const { bench, plan } = this.#parts;
    for (const rail of plan.rails) {
      const channel = plan.channels.find(({ name }) => name === rail.boardChannel);
      const [raw] = await bench.read([rail.boardChannel], SAMPLES);
      if (channel === undefined || raw === undefined) continue;
      const volts = channelVolts(raw.sum / raw.count, channel);
      if (Math.abs(volts) <= rail.safeV) continue;
      throw new RunFault(
        "rail-live",
        `Expected every rail of the board below its safe volts before anyone touches it, but ${rail.boardChannel} reads ` +
          `${voltsText(volts)}. Switch the supplies off, wait until what is stored has gone, and measure.`,
      );
    }
    this.#before = await this.#read();
  }

  /**
   * Wait for one touch and its end, and say what moved.
   *
   * @param seen told of every look while something moves, for a live line
   * @returns null when the signal aborted, because the person passed this point over
   */
  async touch(
    point: string,
    seen: (moved: readonly { readonly channel: string; readonly byV: number }[]) => void,
    signal: AbortSignal,
  ): Promise<WalkFinding | null> {
    const { clock } = this.#parts;
    let lasted = 0;
    let finding: WalkFinding | null = null;
    while (!signal.aborted) {
      const now = await this.#read();
      const moved = movers(this.#before, now, this.#stepV);
      if (moved.length > 0) seen(moved);
      if (moved.length === 0 && finding !== null) return finding;
      lasted = moved.length === 0 ? 0 : lasted + 1;
      if (lasted === TOUCH_LOOKS) finding = judgeTouch(point, this.#before, now, this.#stepV);
      await clock.delay(LOOK_EVERY_MS, signal).catch((error: unknown) => {
        if (!signal.aborted) throw error;
      });
    }
    return null;
  }

  async #read(): Promise<WalkVolts> {
    const raws = await this.#parts.bench.read(this.points, SAMPLES);
    return new Map(
      this.#channels.map((channel) => {
        const raw = raws.find((one) => one.channel === channel.name);
        const volts = raw === undefined ? null : channelVolts(raw.sum / raw.count, channel);
        return [channel.name, volts] as const;
      }),
    );
  }
}
