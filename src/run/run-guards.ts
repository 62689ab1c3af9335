/** What the root of a run decides by. Pure. */
import type { Ending } from "./ending.ts";
import type { PassOutput } from "./pass.machine.ts";
import type { RunContext } from "./run.machine.ts";
import type { Turn } from "./turn.ts";

export function wentWell(_: unknown, why: Ending | null): boolean {
  return why === null;
}

/** A miss that was judged: what the board or a line did, not what the bench failed to do. */
function isJudgedMiss({ ending: why }: PassOutput): boolean {
  return why?.cause === "first fail" || why?.cause === "line off its level";
}

export function freezes({ context }: { context: RunContext }, output: PassOutput): boolean {
  return context.conduct.freezeMs !== null && isJudgedMiss(output);
}

/** Heaters stay on only after an end that says nothing against the bench. */
function allowsStandby({ conduct }: RunContext, why: Ending): boolean {
  return conduct.standbyMs !== null && (why.cause === "completed" || why.cause === "first fail");
}

export function standsBy({ context }: { context: RunContext }, output: PassOutput): boolean {
  return allowsStandby(context, output.ending ?? context.ending);
}

export function standsByThen({ context }: { context: RunContext }, turn: Turn): boolean {
  return turn.kind === "over" && allowsStandby(context, turn.ending ?? context.ending);
}

export function isByHand({ context }: { context: RunContext }, why: Ending | null): boolean {
  return why === null && context.conduct.mode === "hand";
}

export function isRigCheck({ context }: { context: RunContext }, why: Ending | null): boolean {
  return why === null && context.conduct.mode === "rig check";
}

export function isSoak({ context }: { context: RunContext }, why: Ending | null): boolean {
  return why === null && context.conduct.mode === "soak";
}

export function goesOn(_: unknown, turn: Turn): boolean {
  return turn.kind === "goes on";
}

export function isDown(_: unknown, allProved: boolean): boolean {
  return allProved;
}
