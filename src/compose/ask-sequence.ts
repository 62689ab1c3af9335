/** `sequence.yaml` by question and answer, with the files of board and rig at hand. */
import type { LineLevels } from "../events/plan.ts";
import type { Board } from "../formats/board.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { lineField, positiveVoltsField, waitMsField } from "../formats/schema-parts.ts";
import { type Sequence, type SequencePattern, sequenceSchema } from "../formats/sequence.schema.ts";
import { milliseconds } from "../plan/divider-range.ts";
import { boardLines, boardNames, channelName } from "../plan/proof-documents.ts";
import { duration } from "../plan/quantity-words.ts";
import { leastSettleMs, usualSettleMs, usualWarmUpMs } from "../plan/settle-time.ts";
import { askHold, type HoldGiven } from "./ask-hold.ts";
import { type LatchNames, latchShape } from "./latch-shape.ts";
import { ask, type Dialogue } from "./question.ts";
import {
  asLevels,
  asNames,
  asQuantity,
  asText,
  asTextOrNone,
  asYesOrNo,
  CLASSES,
  holding,
} from "./readers.ts";

const { shape } = sequenceSchema;
type Exercise = Sequence["warmUp"]["exercise"][number];

export interface SequenceGiven {
  readonly board: Board;
  readonly rig: Rig;
}

/** A sequence for that board on that rig. */
export function* askSequence({ board, rig }: SequenceGiven): Dialogue<Sequence> {
  const read = new Set(rig.channels.map(channelName));
  const nets = [...boardNames(board).nets].filter((net) => read.has(net));
  const lines = boardLines(rig);
  const latch = latchShape(board);
  const usable =
    latch !== null &&
    [latch.q, latch.qn].every((net) => nets.includes(net)) &&
    [latch.set, latch.reset].every((line) => lines.includes(line))
      ? latch
      : null;
  const sequence = yield* ask({
    about: "Name of the sequence",
    byDefault: `${board.board}-proof`.slice(0, 48),
    read: asText(shape.sequence),
  });
  const timing = yield* askWarmUpTimes(board);
  const settleMs = yield* askSettle(board, rig);
  const exercise = yield* askExercise({ nets, lines, latch: usable, settleMs });
  const steps = yield* askSteps({ nets, lines, latch: usable, settleMs });
  const hold: HoldGiven = { board, rig, nets, lines, latch: usable, settleMs };
  const holds = yield* askHold(hold);
  return {
    format: "holdfast-sequence",
    version: 1,
    sequence,
    board: board.board,
    warmUp: { ...timing, exercise },
    steps: [...steps, ...holds],
  };
}

function* askWarmUpTimes(board: Board): Dialogue<Omit<Sequence["warmUp"], "exercise">> {
  const least = board.heaterBeforePlateMs;
  const forMs = yield* ask({
    about: "A warm level is steady when it has not moved for",
    byDefault: "3 s",
    read: asQuantity(waitMsField(""), "ms"),
  });
  const bandV = yield* ask({
    about: "Not moved means by no more than",
    byDefault: "0.3 V",
    read: asQuantity(positiveVoltsField(""), "V"),
  });
  const timeoutMs = yield* ask({
    about: "Every section is warm within",
    why: "From heaters on; one that is not fails. A triode takes ten seconds or more (common practice).",
    byDefault: duration(usualWarmUpMs(board, forMs)),
    read: holding(asQuantity(waitMsField(""), "ms"), (value) =>
      value > least + forMs
        ? null
        : `expected more than ${duration(least + forMs)}: heating before plate, and time to be steady`,
    ),
  });
  return { timeoutMs, steady: { bandV, forMs } };
}

function* askSettle(board: Board, rig: Rig): Dialogue<number> {
  const least = leastSettleMs(board, rig);
  return yield* ask({
    about: "Wait between driving and reading",
    why: `Contacts, filters and board need ${milliseconds(least)}.`,
    byDefault: `${usualSettleMs(board, rig)} ms`,
    read: holding(asQuantity(waitMsField(""), "ms"), (value) =>
      value >= least ? null : `expected ${milliseconds(least)} or more`,
    ),
  });
}

interface Names {
  readonly nets: readonly string[];
  readonly lines: readonly string[];
  readonly latch: LatchNames | null;
  readonly settleMs: number;
}

/** Patterns until every net has been pulled low in one of them; a latch needs no question. */
function* askExercise({ nets, lines, latch, settleMs }: Names): Dialogue<Exercise[]> {
  if (latch !== null) {
    const { set, reset, q, qn } = latch;
    return [
      { set: { [set]: "high", [reset]: "low" }, settleMs, pullsLow: [qn] },
      { set: { [set]: "low", [reset]: "high" }, settleMs, pullsLow: [q] },
    ];
  }
  const exercise: Exercise[] = [];
  const pulled = new Set<string>();
  do {
    const left = nets.filter((net) => !pulled.has(net));
    const number = exercise.length + 1;
    const set = yield* ask({
      about: `Warm-up pattern ${number}: lines to drive`,
      why: `A cold section reads high and looks valid: each must be seen to pull its net low. Left: ${left.join(", ")}. Lines: ${lines.join(", ")}; loads too, high means connected.`,
      byDefault: null,
      read: asLevels(lines, ["low", "high"]),
    });
    const pullsLow = yield* ask({
      about: `Warm-up pattern ${number}: nets it pulls low`,
      why: "Apart by spaces.",
      byDefault: left.length === 1 ? left.join("") : null,
      read: asNames(shape.board, nets),
    });
    for (const net of pullsLow) pulled.add(net);
    exercise.push({ set, settleMs, pullsLow });
  } while (nets.some((net) => !pulled.has(net)) && exercise.length < 64);
  return exercise;
}

function* askSteps(names: Names): Dialogue<Sequence["steps"]> {
  const { latch, lines, nets, settleMs } = names;
  if (latch !== null) {
    const wanted = yield* ask({
      about: "Take the steps of a latch: set, reset, both, and each released?",
      why: "Each input alone pulls its own stage low, both outputs are low with both inputs, and each state stays when its input lets go.",
      byDefault: "yes",
      read: asYesOrNo,
    });
    if (wanted) return latchSteps(latch, settleMs);
  }
  const steps: SequencePattern[] = [];
  for (;;) {
    const isFirst = steps.length === 0;
    const step = yield* ask({
      about: isFirst ? "Name of the first step" : `Name of step ${steps.length + 1}`,
      why: isFirst
        ? "A step drives lines, waits, and reads nets. What a net must read is yours to say: nothing is derived from the board."
        : "An empty line when there are no more.",
      byDefault: isFirst ? "first" : "",
      read: asTextOrNone(lineField("", 60)),
    });
    if (step === null) return steps;
    const set: LineLevels = yield* ask({
      about: `Lines to drive in "${step}"`,
      why: "Such as SET=high RESET=low; the others stay as they are. An empty line drives nothing.",
      byDefault: "",
      read: asLevels(lines, ["low", "high"], 0),
    });
    const expect = yield* ask({
      about: `What nets must read in "${step}"`,
      why: `Such as ${nets[0] ?? "Q"}=high; nets with a channel are ${nets.join(", ")}.`,
      byDefault: null,
      read: asLevels(nets, CLASSES),
    });
    steps.push({ step, set, settleMs, expect });
  }
}

function latchSteps({ set, reset, q, qn }: LatchNames, settleMs: number): SequencePattern[] {
  const states = [
    ["reset", { [set]: "low", [reset]: "high" }, "low", "high"],
    ["both inputs", { [set]: "high" }, "low", "low"],
    ["reset alone", { [set]: "low" }, "low", "high"],
    ["reset released", { [reset]: "low" }, "low", "high"],
    ["set", { [set]: "high" }, "high", "low"],
    ["both inputs again", { [reset]: "high" }, "low", "low"],
    ["set alone", { [reset]: "low" }, "high", "low"],
    ["set released", { [set]: "low" }, "high", "low"],
  ] as const;
  return states.map(([step, levels, qIs, qnIs]) => ({
    step,
    set: { ...levels },
    settleMs,
    expect: { [q]: qIs, [qn]: qnIs },
  }));
}
