/**
 * One cycle of a soak: each step driven, settled and read once in one exchange, and every net classed as
 * its receiver takes it. Margins are judged by the full sets in between; one conversion is too coarse.
 */
import type { RawReading } from "../bench/bench.ts";
import type { ChannelReading, JudgedReading } from "../events/events.ts";
import type { LevelClass } from "../events/levels.ts";
import type { PatternStep, Plan, PlannedChannel } from "../events/plan.ts";
import { noReading, toReading } from "../measure/reading.ts";
import { judgeReading } from "../verdict/judge.ts";
import { classOf } from "../verdict/level-class.ts";
import { within } from "./deadline.ts";
import { judgeLines } from "./line-check.ts";
import type { RunParts } from "./run-parts.ts";
import type { SoakBook } from "./soak-book.ts";
import { benchDeadlineMs } from "./timing.ts";

/** Judged by the receiver alone. */
const BY_CLASS = { name: "simple", evaluated: false, remarks: [] } as const;

export interface CycleStepRead {
  readonly step: PatternStep;
  /** Volts of the expected nets in the order of the step; null without a reading. */
  readonly volts: readonly (number | null)[];
  /** Null when every net was of its class; else what is wrong with the step, and how it was read. */
  readonly off: {
    readonly why: "wrong" | "not judged";
    readonly readings: readonly JudgedReading[];
  } | null;
}

/** Channels and expectations of one step, looked up once. */
interface PreparedStep {
  readonly step: PatternStep;
  readonly nets: readonly { readonly name: string; readonly expected: LevelClass }[];
  readonly channels: readonly string[];
}

export class SoakCycle {
  readonly #parts: RunParts;
  readonly #book: SoakBook;
  readonly #steps: readonly PreparedStep[];
  /** The plan the channels below were taken from: the measured reference makes it anew. */
  #plan: Plan | null = null;
  #channels: ReadonlyMap<string, PlannedChannel> = new Map();

  constructor(parts: RunParts, book: SoakBook) {
    this.#parts = parts;
    this.#book = book;
    const lines = parts.lines.readBack().map(({ channel }) => channel);
    this.#steps = book.order.cycle.map((step) => ({
      step,
      nets: Object.entries(step.expect).map(([name, expected]) => ({ name, expected })),
      channels: [...new Set([...lines, ...Object.keys(step.expect)])],
    }));
  }

  get length(): number {
    return this.#steps.length;
  }

  /**
   * Drive and read one step.
   *
   * @throws RunFault "energising-closed" when the run began to end meanwhile; BenchError
   */
  async step(at: number): Promise<CycleStepRead> {
    const prepared = this.#steps[at];
    if (prepared === undefined) throw new RangeError(`A cycle has no step ${at}.`);
    const { bench, clock, latch, lines } = this.#parts;
    const { step, channels } = prepared;
    latch.assertOpen("driving a cycle");
    const limitMs = step.settleMs + benchDeadlineMs;
    const raws = await within(
      { clock, limitMs, what: `step "${step.name}" of a cycle` },
      bench.step(step.set, step.settleMs, channels),
    );
    lines.note(step.set, clock.nowMs());
    latch.assertOpen("judging a cycle");
    return this.#read(prepared, raws);
  }

  #read({ step, nets }: PreparedStep, raws: readonly RawReading[]): CycleStepRead {
    const { contract } = this.#parts.plan;
    const readings = raws.map((raw) => this.#reading(raw));
    const lineReadings = judgeLines(readings, this.#parts.lines.readBack(), contract);
    const volts: (number | null)[] = [];
    let isRight = lineReadings.every(({ result }) => result === "pass");
    for (const { name, expected } of nets) {
      const found = readings.find(({ channel }) => channel === name)?.volts ?? null;
      volts.push(found);
      if (found === null) {
        isRight = false;
        continue;
      }
      const isOf = classOf(found, contract);
      this.#book.saw(name, isOf, found);
      if (isOf !== expected) isRight = false;
    }
    return { step, volts, off: isRight ? null : this.#judge(nets, readings, lineReadings) };
  }

  /** In full, now that something is off: lines first, for a line off its level says nothing of the board. */
  #judge(
    nets: PreparedStep["nets"],
    readings: readonly ChannelReading[],
    lines: readonly JudgedReading[],
  ): NonNullable<CycleStepRead["off"]> {
    const { contract } = this.#parts.plan;
    const judged = nets.map(({ name, expected }) => {
      const reading = readings.find(({ channel }) => channel === name) ?? noReading(name, "torn");
      const one = judgeReading(reading, expected, { contract, rule: BY_CLASS });
      return one.class === expected ? { ...one, result: "pass" as const } : one;
    });
    const isGroundless =
      lines.some(({ result }) => result !== "pass") || judged.some(({ volts }) => volts === null);
    return {
      why: isGroundless ? "not judged" : "wrong",
      readings: [...judged, ...lines].sort((one, other) => rank(one) - rank(other)),
    };
  }

  #reading(raw: RawReading): ChannelReading {
    const { leads, rig } = this.#parts;
    if (rig.plan !== this.#plan) {
      this.#plan = rig.plan;
      this.#channels = new Map(rig.plan.channels.map((channel) => [channel.name, channel]));
    }
    const channel = this.#channels.get(raw.channel);
    if (channel === undefined) return noReading(raw.channel, "torn");
    if (rig.isDoubtful) return noReading(raw.channel, "reference doubtful");
    return toReading(raw, channel, leads.isProved(raw.channel));
  }
}

/** What is off comes first. */
function rank({ result }: JudgedReading): number {
  return result === "pass" ? 1 : 0;
}
