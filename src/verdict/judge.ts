/**
 * One reading against what was expected: class by the receiver, result by the sender.
 *
 * A net that a stage drives must meet VOL or VOH, so that the receiver keeps its noise margin; a
 * line that the rig drives has only to be a clear level for its receiver. A line off its level says
 * nothing about the board, so it voids the result and never fails it.
 */
import type { ChannelReading, JudgedReading } from "../events/events.ts";
import type { DrivenLevel, LevelClass, LevelContract } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { type RuledResult, ruledResult } from "./decision-rule.ts";
import { classOf, classOfReading } from "./level-class.ts";

/** What a reading is held to: the board's contract and the rule of the run. A plan is one. */
export type Limits = Pick<Plan, "contract" | "rule">;

interface Room {
  readonly limitV: number;
  /** Volts inside the limit; negative is beyond it. */
  readonly marginV: number;
}

/**
 * Judge a net of the board.
 *
 * @returns class and result; `limitV` is the limit that decided: VIL or VIH when the class is
 *   wrong, VOL or VOH when it is right. `marginV` is the room to it, positive inside. A reading
 *   exactly on a limit is inside. Void without a reading, and under a guarded rule without an
 *   uncertainty
 */
export function judgeReading(
  reading: ChannelReading,
  expected: LevelClass,
  { contract, rule }: Limits,
): JudgedReading {
  if (reading.volts === null) {
    return unread(reading, expected);
  }
  const volts = worseEndV(reading, reading.volts, expected);
  const found = classOf(volts, contract);
  const sender = senderRoom(volts, expected, contract);
  const result = ruledResult(sender.marginV, reading.expandedV ?? null, rule);
  if (result === null) {
    return {
      ...reading,
      class: found,
      expected,
      result: "void",
      reason: "uncertainty unknown",
      ...sender,
    };
  }
  if (found !== expected) {
    return {
      ...reading,
      class: found,
      expected,
      // A limit of the sender at that of the receiver: beyond both by less than the uncertainty.
      result: result === "conditional fail" ? result : "fail",
      reason: found === "between" ? "between" : "wrong class",
      ...receiverRoom(volts, expected, contract),
    };
  }
  return { ...reading, class: found, expected, result, reason: REASONS[result], ...sender };
}

const REASONS: Readonly<Record<RuledResult, JudgedReading["reason"]>> = {
  pass: "as expected",
  "conditional pass": "in guard band",
  "conditional fail": "margin short",
  fail: "margin short",
};

/**
 * The end of a level's ripple that a receiver would take first for something else: the mean of a level
 * that goes to and fro is no level. Without ripple, the volts themselves.
 */
function worseEndV(
  { rippleV, highestV }: ChannelReading,
  volts: number,
  expected: LevelClass,
): number {
  if (rippleV === undefined || highestV === undefined) return volts;
  const lowestV = highestV - rippleV;
  if (expected === "low") return highestV;
  if (expected === "high") return lowestV;
  return highestV - volts > volts - lowestV ? highestV : lowestV;
}

/**
 * Judge a line that the rig drives, by VIL and VIH only.
 *
 * @returns result `pass` at its level, else `void`
 */
export function judgeDrivenLine(
  reading: ChannelReading,
  level: DrivenLevel,
  contract: LevelContract,
): JudgedReading {
  if (reading.volts === null) {
    return unread(reading, level);
  }
  const volts = worseEndV(reading, reading.volts, level);
  const found = classOf(volts, contract);
  const room = receiverRoom(volts, level, contract);
  if (found === level) {
    return {
      ...reading,
      class: found,
      expected: level,
      result: "pass",
      reason: "as expected",
      ...room,
    };
  }
  const reason = found === "between" ? "between" : "wrong class";
  return { ...reading, class: found, expected: level, result: "void", reason, ...room };
}

/** Whether a line was read and reads at its inactive level; no reading is not inactive. */
export function lineInactive(
  reading: ChannelReading,
  inactiveLevel: DrivenLevel,
  contract: LevelContract,
): boolean {
  return classOfReading(reading, contract) === inactiveLevel;
}

function unread(reading: ChannelReading, expected: LevelClass): JudgedReading {
  return {
    ...reading,
    class: null,
    expected,
    result: "void",
    reason: "no reading",
    limitV: null,
    marginV: null,
  };
}

/** Room to the limit of the sender: VOL for a low, VOH for a high. */
export function senderRoom(volts: number, expected: LevelClass, contract: LevelContract): Room {
  switch (expected) {
    case "low":
      return { limitV: contract.volV, marginV: contract.volV - volts };
    case "high":
      return { limitV: contract.vohV, marginV: volts - contract.vohV };
    case "between":
      return receiverRoom(volts, expected, contract);
  }
}

/** Room to the limit of the receiver: VIL for a low, VIH for a high, the nearer for between. */
function receiverRoom(volts: number, expected: LevelClass, contract: LevelContract): Room {
  const aboveVilV = volts - contract.vilV;
  const belowVihV = contract.vihV - volts;
  switch (expected) {
    case "low":
      return { limitV: contract.vilV, marginV: -aboveVilV };
    case "high":
      return { limitV: contract.vihV, marginV: -belowVihV };
    case "between":
      return aboveVilV < belowVihV
        ? { limitV: contract.vilV, marginV: aboveVilV }
        : { limitV: contract.vihV, marginV: belowVihV };
  }
}
