/**
 * The work behind a freeze: the board stands at the step that did not pass, power on, for a person
 * with a meter or an oscilloscope. What is read now is shown and kept, and counts for no verdict.
 */
import type { LineLevels, PlannedStep } from "../events/plan.ts";
import type { RunConduct } from "./conduct.ts";
import { RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { readAndJudge } from "./judge-set.ts";
import type { RunParts } from "./run-parts.ts";
import type { RunWish, WishAnswer } from "./run-wish.ts";
import { freezeTurnRestMs, heartbeatMs, leastRestMs, stateDeadlineMs } from "./timing.ts";
import { GOES_ON, OVER, type Turn } from "./turn.ts";
import { worker } from "./worker.ts";

export interface FreezeInput {
  /** Position of the step that did not pass. */
  readonly position: number;
}

export function freezeActors(parts: RunParts, conduct: RunConduct) {
  const freeze = new Freeze(parts, conduct);
  return {
    freezeTurn: worker<FreezeInput, Turn>(parts, {
      name: "a freeze",
      limitMs: freeze.turnMsMax + stateDeadlineMs,
      run: ({ position }, signal) => freeze.turn(position, signal),
    }),
  };
}

class Freeze {
  /** Longest a turn may take by its settling, ms. */
  readonly turnMsMax: number;
  readonly #parts: RunParts;
  readonly #limitMs: number;
  #begunMs: number | null = null;
  #turns = 0;
  #loopWith: number | null = null;

  constructor(parts: RunParts, conduct: RunConduct) {
    this.#parts = parts;
    this.#limitMs = conduct.freezeMs ?? 0;
    this.turnMsMax = heartbeatMs + 2 * Math.max(0, ...parts.plan.steps.map((one) => one.settleMs));
  }

  async turn(position: number, signal: AbortSignal): Promise<Turn> {
    const { clock, desk } = this.#parts;
    const begunMs = this.#begin(position);
    const leftMs = begunMs + this.#limitMs - clock.nowMs();
    if (leftMs <= 0) return this.#thaw("time over");
    const restMs = this.#loopWith === null ? heartbeatMs : freezeTurnRestMs;
    const wish = await desk.next(clock, Math.min(restMs, leftMs), signal);
    if (wish?.kind === "let go") return this.#thaw("let go");
    if (wish?.kind === "loop") this.#loop(position, wish.with);
    if (wish?.kind === "repeat") await this.#doStep(position, signal);
    else if (this.#loopWith !== null) {
      await this.#doStep(this.#turns % 2 === 0 ? this.#loopWith : position, signal);
    }
    return GOES_ON;
  }

  #begin(position: number): number {
    const { clock, desk, plan, scribe } = this.#parts;
    if (this.#begunMs === null) {
      this.#begunMs = clock.nowMs();
      scribe.phase("frozen");
      const trigger = plan.trigger?.line ?? null;
      scribe.write({ kind: "frozen", step: position, limitMs: this.#limitMs, trigger });
      desk.open((wish) => this.#accept(wish, position));
    }
    return this.#begunMs;
  }

  #accept(wish: RunWish, position: number): WishAnswer {
    if (wish.kind === "repeat" || wish.kind === "let go") return null;
    if (wish.kind !== "loop") return "Frozen: repeating, looping and letting go work here.";
    if (wish.with === null) return null;
    const { steps } = this.#parts.plan;
    if (wish.with === position) return "A loop needs another step than the frozen one.";
    return steps[wish.with] === undefined
      ? `There is no step ${wish.with + 1}; the steps are 1 to ${steps.length}.`
      : null;
  }

  #loop(position: number, other: number | null): void {
    if (other === this.#loopWith) return;
    this.#loopWith = other;
    this.#parts.scribe.write({ kind: "freeze-loop", from: position, to: other });
  }

  #thaw(why: "let go" | "time over"): Turn {
    this.#parts.desk.close();
    this.#parts.scribe.write({ kind: "thawed", why });
    return OVER;
  }

  async #doStep(position: number, signal: AbortSignal): Promise<void> {
    const { clock, lines, plan, scribe } = this.#parts;
    const step = plan.steps[position];
    if (step === undefined) {
      throw new RunFault("plan-inconsistent", `Expected a step at ${position}, there is none.`);
    }
    const settleMs = Math.max(step.settleMs, leastRestMs);
    if (step.kind === "hold") {
      await driveLines(step.enter, this.#parts);
      await clock.delay(settleMs, signal);
    }
    // The trigger moves in the same action as the lines, so that an oscilloscope sees the very edge.
    await driveLines({ ...leading(step), ...this.#trigger("high") }, this.#parts);
    await clock.delay(settleMs, signal);
    const where = `step "${step.name}", repeated`;
    const wanted = { expect: step.expect, lines: lines.readBack(), where };
    const { result, readings } = await readAndJudge(wanted, this.#parts);
    signal.throwIfAborted();
    await driveLines(this.#trigger("low"), this.#parts);
    this.#turns += 1;
    scribe.write({
      kind: "freeze-turn",
      step: step.index,
      turn: this.#turns,
      result,
      readings,
    });
  }

  #trigger(level: "low" | "high"): LineLevels {
    const { trigger } = this.#parts.plan;
    return trigger === undefined ? {} : { [trigger.line]: level };
  }
}

/** Lines whose movement leads to what the step reads. */
function leading(step: PlannedStep): LineLevels {
  return step.kind === "hold" ? step.release : step.set;
}
