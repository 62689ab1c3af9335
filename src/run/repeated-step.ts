/** What a frozen step does again in one turn: the actions of the proof in short, without its waits. Pure. */
import type { DrivenLevel } from "../events/levels.ts";
import type { ExpectedClasses, HoldStep, LineLevels, Plan, PlannedStep } from "../events/plan.ts";
import { leastRestMs } from "./timing.ts";

export interface TurnAction {
  readonly set: LineLevels;
  /** What is read once the lines have settled; null reads nothing here. */
  readonly expect: ExpectedClasses | null;
}

/**
 * The actions of one turn, in order. A hold is entered and released, each of its moved lines goes to and
 * fro once, and it is flipped: whichever of these it missed, the turn comes by it.
 *
 * @param first lines to bring back to where they stood before anything else moves
 * @param levelOf where a line stands then
 */
export function turnActions(
  step: PlannedStep,
  first: LineLevels,
  levelOf: (line: string) => DrivenLevel,
): TurnAction[] {
  const back = Object.keys(first).length === 0 ? [] : [{ set: first, expect: null }];
  return [...back, ...stepActions(step, levelOf)];
}

function stepActions(step: PlannedStep, levelOf: (line: string) => DrivenLevel): TurnAction[] {
  if (step.kind === "pattern") return [{ set: step.set, expect: step.expect }];
  const { enter, expect, flip, move, release } = step;
  return [
    { set: enter, expect: null },
    { set: release, expect },
    ...move.flatMap((line) => toAndFro(line, levelOf(line), expect)),
    { set: flip.enter, expect: null },
    { set: flip.release, expect: flip.expect },
  ];
}

function toAndFro(line: string, level: DrivenLevel, expect: HoldStep["expect"]): TurnAction[] {
  const other = level === "high" ? "low" : "high";
  return [
    { set: { [line]: other }, expect },
    { set: { [line]: level }, expect },
  ];
}

export function settleMsOf({ settleMs }: PlannedStep): number {
  return Math.max(settleMs, leastRestMs);
}

/** Settling of the longest turn a plan can have, ms. */
export function longestTurnMs({ steps }: Pick<Plan, "steps">): number {
  const turns = steps.map((step) => {
    const { length } = stepActions(step, () => "low");
    return (1 + length) * settleMsOf(step);
  });
  return Math.max(0, ...turns);
}
