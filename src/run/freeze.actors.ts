/**
 * The work behind a freeze: the board stands at the step that did not pass, power on, for a person
 * with a meter or an oscilloscope. What is read now is shown and kept, and counts for no verdict.
 */
import type { LineLevels } from "../events/plan.ts";
import type { RunWish, WishAnswer } from "../events/run-wish.ts";
import { goesOn } from "../verdict/decision-rule.ts";
import type { RunConduct } from "./conduct.ts";
import { RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { type JudgedSet, readAndJudge } from "./judge-set.ts";
import { longestTurnMs, settleMsOf, turnActions } from "./repeated-step.ts";
import type { RunParts } from "./run-parts.ts";
import { freezeTurnRestMs, heartbeatMs, stateDeadlineMs } from "./timing.ts";
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
  /** The step that did not pass, and where the lines stood then. */
  #frozen: { readonly position: number; readonly stood: LineLevels } = { position: 0, stood: {} };
  #turns = 0;
  #loopWith: number | null = null;

  constructor(parts: RunParts, conduct: RunConduct) {
    this.#parts = parts;
    this.#limitMs = conduct.freezeMs ?? 0;
    this.turnMsMax = heartbeatMs + longestTurnMs(parts.plan);
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
    const { clock, desk, lines, plan, scribe } = this.#parts;
    if (this.#begunMs === null) {
      this.#begunMs = clock.nowMs();
      const stood = plan.lines.map(({ line }) => [line, lines.levelOf(line)] as const);
      this.#frozen = { position, stood: Object.fromEntries(stood) };
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

  /**
   * One turn of a step, up to the first reading that does not pass. The trigger moves in the same
   * action as the lines that lead to the first reading, so that an oscilloscope sees the very edge.
   */
  async #doStep(position: number, signal: AbortSignal): Promise<void> {
    const { clock, lines, plan, scribe } = this.#parts;
    const step = plan.steps[position];
    if (step === undefined) {
      throw new RunFault("plan-inconsistent", `Expected a step at ${position}, there is none.`);
    }
    const moved = position === this.#frozen.position ? this.#movedSince() : {};
    const levelOf = (line: string) => moved[line] ?? lines.levelOf(line);
    let set: JudgedSet | null = null;
    for (const action of turnActions(step, moved, levelOf)) {
      const trigger = set === null && action.expect !== null ? this.#trigger("high") : {};
      await driveLines({ ...action.set, ...trigger }, this.#parts);
      await clock.delay(settleMsOf(step), signal);
      if (action.expect === null) continue;
      const where = `step "${step.name}", repeated`;
      const wanted = { expect: action.expect, lines: lines.readBack(), where };
      set = await readAndJudge(wanted, this.#parts);
      signal.throwIfAborted();
      if (!goesOn(set.result)) break;
    }
    await driveLines(this.#trigger("low"), this.#parts);
    this.#turns += 1;
    scribe.write({
      kind: "freeze-turn",
      step: step.index,
      turn: this.#turns,
      result: set?.result ?? "void",
      readings: set?.readings ?? [],
    });
  }

  /** Lines that another step of a loop, or a turn broken off, has left elsewhere than at the miss. */
  #movedSince(): LineLevels {
    const { lines } = this.#parts;
    const { stood } = this.#frozen;
    return Object.fromEntries(
      Object.entries(stood).filter(([line, level]) => lines.levelOf(line) !== level),
    );
  }

  #trigger(level: "low" | "high"): LineLevels {
    const { trigger } = this.#parts.plan;
    return trigger === undefined ? {} : { [trigger.line]: level };
  }
}
