/** Questions about hold proofs; release and inactive levels follow from what enters the state. */
import type { DrivenLevel } from "../events/levels.ts";
import type { LineLevels } from "../events/plan.ts";
import type { Board } from "../formats/board.schema.ts";
import type { Rig } from "../formats/rig.schema.ts";
import { lineField, waitMsField } from "../formats/schema-parts.ts";
import type { SequenceHold } from "../formats/sequence.schema.ts";
import { duration } from "../plan/quantity-words.ts";
import type { LatchNames } from "./latch-shape.ts";
import { ask, type Dialogue } from "./question.ts";
import { asLevels, asNames, asQuantity, asText, asYesOrNo, CLASSES, holding } from "./readers.ts";

export interface HoldGiven {
  readonly board: Board;
  readonly rig: Rig;
  readonly nets: readonly string[];
  readonly lines: readonly string[];
  readonly latch: LatchNames | null;
  readonly settleMs: number;
}

const MOVE_EVERY_MS = 500;
const READ_EVERY_MS = 250;

/** No hold proof, or one. Further ones are written in the file, after the pattern of the first. */
export function* askHold(given: HoldGiven): Dialogue<SequenceHold[]> {
  const { latch, nets, lines, board, rig, settleMs } = given;
  const wanted = yield* ask({
    about: "Add a hold proof?",
    why: "Enter a state, let go, and watch it stay while every other line moves; then flip it, and watch that stay. A latch is not proved without one.",
    byDefault: latch === null ? "no" : "yes",
    read: asYesOrNo,
  });
  if (!wanted) return [];
  const name = yield* ask({
    about: "Name of the hold proof",
    byDefault: latch === null ? "held" : `${latch.q} set`,
    read: asText(lineField("", 60)),
  });
  const driven = rig.outputs.flatMap((one) => (one.drive === "changeover" ? [one.line] : []));
  const enter = yield* ask({
    about: "Lines that enter the state",
    why: "They are released to the other level afterwards, and must read so throughout.",
    byDefault: latch === null ? null : `${latch.set}=high`,
    read: asLevels(driven, ["low", "high"]),
  });
  const expect = yield* ask({
    about: "What nets must read while it is held",
    byDefault: latch === null ? null : `${latch.q}=high ${latch.qn}=low`,
    read: asLevels(nets, CLASSES),
  });
  const flipEnter = yield* ask({
    about: "Lines that flip it",
    why: "The opposite input: without a flip, a set contact stuck closed would pass.",
    byDefault: latch === null ? null : `${latch.reset}=high`,
    read: holding(asLevels(driven, ["low", "high"]), (levels) => {
      const both = Object.entries(levels).find(
        ([line, level]) => enter[line] !== undefined && enter[line] !== level,
      );
      return both === undefined ? null : `expected ${both[0]} not to be driven both ways`;
    }),
  });
  const flipExpect = yield* ask({
    about: "What nets must read after the flip",
    byDefault: latch === null ? null : `${latch.q}=low ${latch.qn}=high`,
    read: holding(asLevels(nets, CLASSES), (after) =>
      Object.entries(after).some(
        ([net, level]) => expect[net] !== undefined && expect[net] !== level,
      )
        ? null
        : "expected a net that reads otherwise than before the flip",
    ),
  });
  const still = new Set([...Object.keys(enter), ...Object.keys(flipEnter)]);
  const others = lines.filter((line) => !still.has(line));
  const move = yield* ask({
    about: "Lines moved to and fro meanwhile",
    why: "Every other line and load, apart by spaces; what moves must not disturb the state.",
    byDefault: others.slice(0, 8).join(" "),
    read: holding(asNames(lineField(""), others, 0), (names) =>
      names.length > 8 ? "expected at most 8" : null,
    ),
  });
  const leastMs = Math.max(board.slowestTimeConstantMs, MOVE_EVERY_MS);
  const longEnough = (value: number) =>
    value > leastMs ? null : `expected more than ${duration(leastMs)}`;
  const forMs = yield* ask({
    about: "It must hold for",
    why: `Longer than the slowest time constant, ${duration(board.slowestTimeConstantMs)}, by far.`,
    byDefault: duration(Math.max(120_000, 10 * board.slowestTimeConstantMs)),
    read: holding(asQuantity(waitMsField(""), "ms"), longEnough),
  });
  const flipForMs = yield* ask({
    about: "The flipped state must hold for",
    byDefault: duration(Math.max(5000, 10 * board.slowestTimeConstantMs)),
    read: holding(asQuantity(waitMsField(""), "ms"), longEnough),
  });
  const release = opposite(enter);
  const flipRelease = opposite(flipEnter);
  return [
    {
      hold: name,
      enter,
      release,
      inactive: { ...release, ...flipRelease },
      expect,
      move,
      moveEveryMs: MOVE_EVERY_MS,
      readEveryMs: READ_EVERY_MS,
      settleMs,
      forMs,
      flip: { enter: flipEnter, release: flipRelease, expect: flipExpect, forMs: flipForMs },
    },
  ];
}

function opposite(levels: LineLevels): Record<string, DrivenLevel> {
  const other = (level: DrivenLevel): DrivenLevel => (level === "high" ? "low" : "high");
  return Object.fromEntries(Object.entries(levels).map(([line, level]) => [line, other(level)]));
}
