/** The work behind a pattern step: drive its lines, let them settle, read and judge. */
import type { PatternStep } from "../events/plan.ts";
import { RunFault } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { outcomeOf, readAndJudge } from "./judge-set.ts";
import type { StepOutcome } from "./machine-words.ts";
import type { StepInput } from "./pass.machine.ts";
import type { RunParts } from "./run-parts.ts";
import { stateDeadlineMs } from "./timing.ts";
import { worker } from "./worker.ts";

export function passActors(parts: RunParts) {
  return {
    driveStep: worker<StepInput, void>(parts, {
      name: "driving a step",
      run: async ({ position }) => {
        const step = patternAt(position, parts);
        parts.scribe.phase("stepping");
        parts.scribe.write({ kind: "step-begun", step: step.index, name: step.name });
        if (step.note !== null) parts.scribe.write({ kind: "remark", text: step.note });
        await driveLines(step.set, parts);
      },
    }),
    settle: worker<{ settleMs: number }, void>(parts, {
      name: "settling",
      limitMs: ({ settleMs }) => settleMs + stateDeadlineMs,
      run: ({ settleMs }, signal) => parts.clock.delay(settleMs, signal),
    }),
    readStep: worker<StepInput, StepOutcome>(parts, {
      name: "reading a step",
      run: ({ position }, signal) => readPattern(patternAt(position, parts), parts, signal),
    }),
  };
}

async function readPattern(
  step: PatternStep,
  parts: RunParts,
  signal: AbortSignal,
): Promise<StepOutcome> {
  const { lines, scribe } = parts;
  const wanted = { expect: step.expect, lines: lines.readBack(), where: `step "${step.name}"` };
  const { result, readings, ending } = await readAndJudge(wanted, parts);
  signal.throwIfAborted();
  scribe.write({ kind: "reading", step: step.index, part: "pattern", readings });
  scribe.write({ kind: "step-ended", step: step.index, result });
  return outcomeOf({ result, ending });
}

function patternAt(position: number, { plan }: RunParts): PatternStep {
  const step = plan.steps[position];
  if (step?.kind !== "pattern") {
    throw new RunFault(
      "plan-inconsistent",
      `Expected a pattern at step ${position}, there is none.`,
    );
  }
  return step;
}
