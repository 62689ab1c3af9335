/** Whether a sequence can be done on this board with this rig, and proves what it says. */
import type { PatternStep } from "../events/plan.ts";
import type { SequenceSoak } from "../formats/sequence.schema.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";
import { checkHold } from "./check-hold.ts";
import { filterSettleMs, milliseconds } from "./divider-range.ts";
import type { ProofSteps } from "./fill-expected.ts";
import type { PlacedStep } from "./flatten-steps.ts";
import { LineStates } from "./line-states.ts";
import type { ProblemList } from "./problem-list.ts";
import {
  type BoardNames,
  boardLines,
  channelName,
  type ProofDocuments,
} from "./proof-documents.ts";
import {
  checkExpected,
  checkLines,
  checkReading,
  checkSettle,
  type SequenceCheck,
} from "./sequence-parts.ts";

/** Every way in which the sequence asks for what is not there, or reads too early. */
export function checkSequence(
  documents: ProofDocuments,
  names: BoardNames,
  { pass: steps, cycle }: ProofSteps,
  problems: ProblemList,
): void {
  const { board, rig, sequence } = documents;
  const lines = boardLines(rig.value);
  const settles = rig.value.channels.map(
    (channel) => [channelName(channel), filterSettleMs(channel)] as const,
  );
  const check: SequenceCheck = {
    documents,
    names,
    problems,
    lines: new Set(lines),
    settleMsByChannel: new Map(settles),
  };
  if (sequence.value.board !== board.value.board) {
    problems.add(sequence, ["board"], {
      code: "OTHER_BOARD",
      reason: `this sequence is written for another board, expected ${board.value.board}`,
      whatToDo: "use a sequence of this board",
    });
  }
  const states = new LineStates(rig.value);
  checkWarmUp(check, states);
  if (steps.length === 0) {
    problems.add(sequence, ["steps"], {
      code: "KEY_MISSING",
      part: "key",
      reason: "there are notes but no step",
      whatToDo: "add a step or a hold",
    });
  }
  for (const { step, path } of steps) {
    if (step.kind === "hold") {
      checkHold(check, step, path, states);
      continue;
    }
    checkPattern(check, step, path);
    states.apply(step.set);
  }
  const { soak } = sequence.value;
  if (soak !== undefined) checkSoak(check, soak, cycle);
}

function checkPattern(check: SequenceCheck, step: PatternStep, path: ValuePath): void {
  checkLines(check, [...path, "set"], step.set);
  checkExpected(check, [...path, "expect"], step.expect);
  checkSettle(check, path, step.settleMs, [...Object.keys(step.set), ...Object.keys(step.expect)]);
}

/** A cycle is a walk of its own: its steps, and that its time is long enough for them. */
function checkSoak(
  check: SequenceCheck,
  soak: SequenceSoak,
  steps: readonly PlacedStep<PatternStep>[],
): void {
  for (const { step, path } of steps) checkPattern(check, step, path);
  const leastMs = steps.reduce((sum, { step }) => sum + step.settleMs, 0);
  const { everyMs = 0 } = soak;
  if (everyMs === 0 || everyMs > leastMs) return;
  check.problems.add(check.documents.sequence, ["soak", "everyMs"], {
    code: "TIME_TOO_SHORT",
    reason: `the steps of one cycle settle for ${milliseconds(leastMs)} in all`,
    whatToDo: "cycle more slowly, or leave it out to cycle as quickly as the steps allow",
  });
}

function checkWarmUp(check: SequenceCheck, states: LineStates): void {
  const { documents, names, problems } = check;
  const { board, sequence } = documents;
  const { warmUp } = sequence.value;
  const pulled = new Set<string>();
  warmUp.exercise.forEach((exercise, index) => {
    const path = ["warmUp", "exercise", index];
    checkLines(check, [...path, "set"], exercise.set);
    states.apply(exercise.set);
    exercise.pullsLow.forEach((net, at) => {
      pulled.add(net);
      checkReading(check, [...path, "pullsLow", at], net, "value");
    });
    const read = [...Object.keys(exercise.set), ...exercise.pullsLow];
    checkSettle(check, path, exercise.settleMs, read);
  });
  for (const net of names.stageOutputs) {
    if (pulled.has(net)) continue;
    problems.add(sequence, ["warmUp", "exercise"], {
      code: "WARM_UP_INCOMPLETE",
      part: "key",
      reason: `no pattern pulls ${net} low; a cold section reads high and looks valid`,
      whatToDo: `add a pattern with ${net} in pullsLow`,
    });
  }
  const leastMs = board.value.heaterBeforePlateMs + warmUp.steady.forMs;
  if (warmUp.timeoutMs > leastMs) return;
  problems.add(sequence, ["warmUp", "timeoutMs"], {
    code: "TIME_TOO_SHORT",
    reason: `${milliseconds(warmUp.timeoutMs)} is over before plate is on and a level steady (${milliseconds(leastMs)})`,
    whatToDo: "wait longer; a triode takes ten seconds or more",
  });
}
