/**
 * The same night as `soak-night`, but only its full sets: read from the night's fixture by the plan's channels,
 * turned into volts by the program's own code, a hundred times quicker than with controller and run machine
 * between. What both make of a night is held together by the figure.
 */
import type { ChannelReading, JudgedReading, RunEvent } from "../../../src/events/events.ts";
import type { DrivenLevel } from "../../../src/events/levels.ts";
import type { Plan, PlannedChannel } from "../../../src/events/plan.ts";
import { type RawSums, toReading } from "../../../src/measure/reading.ts";
import { RigWatch } from "../../../src/run/rig-watch.ts";
import { USUAL_SPREAD } from "../../../src/simulate/circuit/board-model.ts";
import {
  createQuickFixture,
  type QuickFixture,
} from "../../../src/simulate/quick/quick-fixture.ts";
import { DriftFeed, driftBoardOf } from "../../../src/verdict/drift/drift-feed.ts";
import { judgeReading } from "../../../src/verdict/judge.ts";
import { type LivedNight, latchWithSensor, type SoakNight } from "./soak-night.ts";

const CODES = 1024;
const CONVERSION_MS = 0.224;
const MUX_FIRST = 7;
const MUX_SIZE = 8;
const CONVERTER_PINS = 6;
/** Heaters, then bias, then plate; the first set once the cathodes are warm. Ms. */
const RAILS_AT_MS = { heater: 200, bias: 800, plate: 4200 } as const;
const FIRST_SET_MS = 30_000;
const HOUR_MS = 3_600_000;

export async function readNight(night: SoakNight): Promise<Omit<LivedNight, "verdict" | "detail">> {
  const { plan, circuit, rig } = await latchWithSensor();
  const { soak } = plan;
  if (circuit === null || soak === undefined) throw new Error("the latch has no circuit or soak");
  const { unit: seed, scenario, hours, everyMs } = night;
  const fixture = createQuickFixture({ circuit, rig, seed, spread: USUAL_SPREAD, scenario });
  const hands = new Hands(plan, fixture);
  const feed = new DriftFeed();
  for (const rail of ["heater", "bias", "plate"] as const) hands.raise(rail, RAILS_AT_MS[rail]);
  const count = Math.floor((hours * HOUR_MS) / soak.readEveryMs);
  for (let set = 1; set <= count; set += 1) {
    hands.nowMs = FIRST_SET_MS + (set - 1) * soak.readEveryMs;
    feed.take(hands.readSet(set, soak.cycle));
  }
  const cycles = Math.floor((hours * HOUR_MS) / everyMs);
  return { cycles, sets: feed.sets, board: driftBoardOf(plan) };
}

class Hands {
  nowMs = 0;
  readonly #plan: Plan;
  readonly #fixture: QuickFixture;
  readonly #watch: RigWatch;
  readonly #lines = new Map<string, DrivenLevel>();
  #mask = 0;

  constructor(plan: Plan, fixture: QuickFixture) {
    this.#plan = plan;
    this.#fixture = fixture;
    const silent = { say: () => undefined, on: () => ({ heaters: true, coils: false }) };
    this.#watch = new RigWatch(plan, silent);
  }

  raise(rail: "heater" | "bias" | "plate", atMs: number): void {
    const planned = this.#plan.rails.find((one) => one.rail === rail);
    this.#mask |= 1 << ((planned?.output ?? 1) - 1);
    this.#fixture.setOutputs(this.#mask, atMs);
  }

  readSet(
    set: number,
    cycle: NonNullable<Plan["soak"]>["cycle"],
  ): Extract<RunEvent, { kind: "soak-readings" }> {
    const steps = cycle.map((step) => {
      for (const [line, level] of Object.entries(step.set)) this.#drive(line, level);
      this.nowMs += step.settleMs;
      const readings = this.#read(Object.keys(step.expect)).map((reading): JudgedReading => {
        const expected = step.expect[reading.channel] ?? "between";
        return judgeReading(reading, expected, this.#plan);
      });
      return { step: step.index, readings };
    });
    const rails = this.#read(this.#plan.rails.map(({ boardChannel }) => boardChannel));
    const onMs = Math.round(this.nowMs - RAILS_AT_MS.plate);
    const { measured } = this.#watch;
    return {
      kind: "soak-readings",
      set,
      cycle: set,
      moment: "settled",
      onMs,
      steps,
      rails,
      ...measured,
    };
  }

  #drive(line: string, level: DrivenLevel): void {
    const planned = this.#plan.lines.find((one) => one.line === line);
    if (planned === undefined) throw new Error(`no line ${line}`);
    this.#lines.set(line, level);
    const bit = 1 << (planned.output - 1);
    const isOperated =
      planned.releasedLevel === null ? level === "high" : level !== planned.releasedLevel;
    this.#mask = isOperated ? this.#mask | bit : this.#mask & ~bit;
    this.#fixture.setOutputs(this.#mask, this.nowMs);
  }

  #read(names: readonly string[]): ChannelReading[] {
    const rig = this.#watch.channels;
    return [...rig, ...names].flatMap((name) => {
      const channel = this.#watch.plan.channels.find((one) => one.name === name);
      if (channel === undefined) throw new Error(`no channel ${name}`);
      const raw = this.#convert(channel);
      if (this.#watch.learn(raw, channel)) return [];
      return [this.#watch.evaluate(toReading(raw, channel, true), channel, false)];
    });
  }

  #convert({ name, number }: PlannedChannel): RawSums {
    const { samples } = this.#plan;
    const nominalV = this.#plan.channels.find((one) => one.name === name)?.referenceV ?? 5;
    const [pin, address] =
      number <= CONVERTER_PINS
        ? [number - 1, 0]
        : [
            CONVERTER_PINS + Math.floor((number - MUX_FIRST) / MUX_SIZE),
            (number - MUX_FIRST) % MUX_SIZE,
          ];
    let [sum, min, max] = [0, CODES, 0];
    for (let at = 0; at < samples; at += 1) {
      const volts = this.#fixture.pinVolts(pin, address, this.nowMs);
      const code = Math.max(0, Math.min(CODES - 1, Math.floor((volts / nominalV) * CODES)));
      sum += code;
      min = Math.min(min, code);
      max = Math.max(max, code);
      this.nowMs += CONVERSION_MS;
    }
    return { channel: name, sum, count: samples, min, max };
  }
}
