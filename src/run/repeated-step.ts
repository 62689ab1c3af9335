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
 * @param strayed lines that are not where they belong, and the level to bring them back to first; those
 *   that the step drives itself are left to it, for theirs are the edges that a person wants to see
 * @param levelOf where a line stands then
 */
export function turnActions(
  step: PlannedStep,
  strayed: LineLevels,
  levelOf: (line: string) => DrivenLevel,
): TurnAction[] {
  const own = drivenBy(step);
  const set = Object.fromEntries(Object.entries(strayed).filter(([line]) => !own.has(line)));
  const back = Object.keys(set).length === 0 ? [] : [{ set, expect: null }];
  return [...back, ...stepActions(step, levelOf)];
}

function drivenBy(step: PlannedStep): ReadonlySet<string> {
  const levels = step.kind === "pattern" ? [step.set] : [step.enter, step.release];
  return new Set(levels.flatMap(Object.keys));
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
