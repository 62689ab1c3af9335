/** The work behind warm-up: drive a pattern, settle, read what a warm section must pull low. */

import type { ChannelReading, ColdNet, JudgedReading } from "../events/events.ts";
import type { PlannedLine, WarmUpExercise } from "../events/plan.ts";
import { stagePlace } from "../events/stage-place.ts";
import { isZeroNet, leadOrLoadText } from "../journal/log-text.ts";
import { readingText } from "../measure/reading-text.ts";
import { voltsText } from "../measure/volts-text.ts";
import { classOfReading } from "../verdict/level-class.ts";
import { type Ending, ending, RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { releasedLevel } from "./line-book.ts";
import { isUnprovedLow, judgeLines, lineOffItsLevel } from "./line-check.ts";
import { readChannels } from "./look.ts";
import type { Gate } from "./machine-words.ts";
import type { RunParts } from "./run-parts.ts";
import { benchDeadlineMs, leastRestMs, stateDeadlineMs } from "./timing.ts";
import { type WarmNet, WarmTracker } from "./warm-tracker.ts";
import type { ExerciseInput, WarmthReport } from "./warm-up.machine.ts";
import { worker } from "./worker.ts";

/** A line may be off its level in one look, such as on a bouncing contact, but not in two. */
const OFF_LEVEL_LOOKS_MAX = 2;

export function warmUpActors(parts: RunParts) {
  const warmUp = new WarmUp(parts);
  const { plan, clock } = parts;
  const settleMs = Math.max(leastRestMs, ...plan.warmUp.exercise.map((one) => one.settleMs));
  return {
    proveLineLeads: worker<undefined, Gate>(parts, {
      name: "proving the leads of the lines",
      limitMs: stateDeadlineMs + plan.lines.length * (settleMs + 3 * benchDeadlineMs),
      run: (_, signal) => warmUp.proveLineLeads(settleMs, signal),
    }),
    drivePattern: worker<ExerciseInput, void>(parts, {
      name: "driving a warm-up pattern",
      run: ({ position }) => driveLines(warmUp.exercise(position).set, parts),
    }),
    settle: worker<{ settleMs: number }, void>(parts, {
      name: "settling in warm-up",
      limitMs: (input) => input.settleMs + stateDeadlineMs,
      run: (input, signal) => clock.delay(input.settleMs, signal),
    }),
    readPattern: worker<ExerciseInput, WarmthReport>(parts, {
      name: "reading a warm-up pattern",
      run: ({ position }, signal) => warmUp.read(warmUp.exercise(position), signal),
    }),
  };
}

class WarmUp {
  readonly #parts: RunParts;
  readonly #tracker: WarmTracker;
  /** Newest look at each net under a pattern that pulls it low. */
  readonly #looks = new Map<string, ChannelReading>();
  readonly #offLevelLooks = new Map<string, number>();

  constructor(parts: RunParts) {
    this.#parts = parts;
    this.#tracker = new WarmTracker(parts.plan.warmUp);
  }

  exercise(position: number): WarmUpExercise {
    const exercise = this.#parts.plan.warmUp.exercise[position];
    if (exercise === undefined) {
      throw new RunFault(
        "plan-inconsistent",
        `Expected warm-up pattern ${position}, there is none.`,
      );
    }
    return exercise;
  }

  /**
   * Show every line that the exercise never drives high at that level once, so that its zero means
   * low from then on.
   */
  async proveLineLeads(settleMs: number, signal: AbortSignal): Promise<Gate> {
    const { clock, leads, plan, scribe } = this.#parts;
    scribe.phase("warming up");
    const exercised = new Set(
      plan.warmUp.exercise.flatMap(({ set }) =>
        Object.keys(set).filter((line) => set[line] === "high"),
      ),
    );
    for (const line of plan.lines) {
      if (line.channel === null || exercised.has(line.line)) continue;
      await driveLines({ [line.line]: "high" }, this.#parts);
      await clock.delay(settleMs, signal);
      const [reading] = await readChannels([line.channel], this.#parts);
      signal.throwIfAborted();
      if (reading === undefined || !leads.isProved(line.channel))
        return this.#notHigh(line, reading);
      await driveLines({ [line.line]: releasedLevel(line) }, this.#parts);
    }
    return { open: true };
  }

  async read(exercise: WarmUpExercise, signal: AbortSignal): Promise<WarmthReport> {
    const { latch, lines, plan } = this.#parts;
    const driven = lines.readBack();
    const nets = [...new Set(plan.warmUp.exercise.flatMap(({ pullsLow }) => pullsLow))];
    const names = [...new Set([...nets, ...driven.map(({ channel }) => channel)])];
    const readings = await readChannels(names, this.#parts);
    signal.throwIfAborted();
    latch.assertOpen("judging warmth");
    const judged = judgeLines(readings, driven, plan.contract);
    const off = this.#lineOff(judged, plan.warmUp.exercise.indexOf(exercise));
    if (off !== null) return this.#over(lineOffItsLevel(off, plan));
    if (judged.every((line) => line.result === "pass" || isUnprovedLow(line))) {
      for (const net of exercise.pullsLow) this.#take(net, readings);
    }
    if (this.#tracker.isWarm()) {
      this.#conclude(true);
      return { kind: "warm" };
    }
    if (this.#sinceHeatersMs() < plan.warmUp.timeoutMs) return { kind: "warming" };
    return this.#over(ending("not warm", this.#coldText()));
  }

  #take(net: string, readings: readonly ChannelReading[]): void {
    const { plan, scribe } = this.#parts;
    const reading = readings.find(({ channel }) => channel === net);
    if (reading !== undefined) this.#looks.set(net, reading);
    const volts = reading?.volts ?? null;
    const level = reading === undefined ? null : classOfReading(reading, plan.contract);
    const atMs = this.#sinceHeatersMs();
    const news = this.#tracker.take({ net, volts, class: level, atMs });
    const track = this.#tracker.nets().find((one) => one.net === net);
    if (news === null || volts === null || track === undefined) return;
    const { validMs, steadyMs } = track;
    scribe.write({ kind: "net-warm", net, volts, validMs: validMs ?? atMs, steadyMs });
  }

  /**
   * A line that was off its level in this look and the last one under this pattern, or null. Under
   * another pattern a lead on the wrong net may well read as it should.
   */
  #lineOff(judged: readonly JudgedReading[], pattern: number): JudgedReading | null {
    for (const line of judged) {
      const isOff = line.result !== "pass" && !isUnprovedLow(line);
      const key = `${pattern} ${line.channel}`;
      const looks = isOff ? (this.#offLevelLooks.get(key) ?? 0) + 1 : 0;
      this.#offLevelLooks.set(key, looks);
      if (looks >= OFF_LEVEL_LOOKS_MAX) return line;
    }
    return null;
  }

  #over(why: Ending): WarmthReport {
    this.#conclude(false);
    return { kind: "over", ending: why };
  }

  #conclude(warm: boolean): void {
    this.#parts.warmth.reached = warm;
    const cold = this.#tracker.cold().map(({ net, volts }): ColdNet => {
      const reading = this.#looks.get(net);
      return { net, volts, ...(reading === undefined ? {} : { reading }) };
    });
    const tookMs = this.#sinceHeatersMs();
    this.#parts.scribe.write({ kind: "warm-up-ended", warm, tookMs, cold });
  }

  #sinceHeatersMs(): number {
    const { clock, rails } = this.#parts;
    return Math.round(clock.nowMs() - (rails.orderedOnMs("heater") ?? clock.nowMs()));
  }

  #coldText(): string {
    const { plan } = this.#parts;
    const afterS = (this.#sinceHeatersMs() / 1000).toFixed(1);
    const nets = this.#tracker.cold().map((net) => this.#coldNetText(net));
    return `not warm ${afterS} s after heaters on (limit ${plan.warmUp.timeoutMs / 1000} s): ${nets.join("; ")}`;
  }

  #coldNetText({ net, volts, isLow }: WarmNet): string {
    const { plan } = this.#parts;
    const { contract, stages, warmUp } = plan;
    const stage = stages.find(({ output }) => output === net);
    const place = stage === undefined ? null : stagePlace(stage);
    const section = place === null ? "" : ` (${place})`;
    const look = this.#looks.get(net);
    if (volts !== null) {
      const wanted = isLow
        ? `low, but not yet steady within ${warmUp.steadyBandV} V for ${warmUp.steadyForMs / 1000} s`
        : `expected at or below ${contract.vilV} V`;
      return `${net}${section} reads ${voltsText(volts)}, ${wanted}`;
    }
    const read = look === undefined ? "no reading" : readingText(look, plan);
    const next = look !== undefined && isZeroNet(look, plan) ? `. ${leadOrLoadText(net)}` : "";
    return `${net}${section} gave ${read}, expected at or below ${contract.vilV} V${next}`;
  }

  #notHigh(line: PlannedLine, reading: ChannelReading | undefined): Gate {
    const { vihV } = this.#parts.plan.contract;
    const read = reading === undefined ? "no reading" : readingText(reading, this.#parts.plan);
    const detail = `line ${line.line} reads ${read} when driven high, expected at or above ${vihV} V. Check its relay and leads.`;
    const fault = { code: "line-off-its-level", net: line.line };
    return { open: false, ending: ending("line off its level", detail, fault) };
  }
}
