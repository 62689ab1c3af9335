/** Reading driven lines back: a line off its level says nothing about the board, so it voids. */
import type { ChannelReading, JudgedReading } from "../events/events.ts";
import type { LevelContract } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";
import { readingText } from "../measure/reading-text.ts";
import { judgeDrivenLine } from "../verdict/judge.ts";
import { type Ending, ending } from "./ending.ts";
import type { DrivenLine } from "./line-book.ts";

/** Judge what was read of the lines, in the order of `lines`; a line not read is left out. */
export function judgeLines(
  readings: readonly ChannelReading[],
  lines: readonly DrivenLine[],
  contract: LevelContract,
): JudgedReading[] {
  return lines.flatMap(({ channel, level }) => {
    const reading = readings.find((one) => one.channel === channel);
    return reading === undefined ? [] : [judgeDrivenLine(reading, level, contract)];
  });
}

/** Zero on a lead that was never seen high: cannot be told from an open lead, nor held against it. */
export function isUnprovedLow(judged: JudgedReading): boolean {
  return judged.expected === "low" && judged.noReading === "lead not proved";
}

export function lineOffItsLevel(judged: JudgedReading, plan: Plan): Ending {
  const { contract } = plan;
  const limit =
    judged.expected === "high"
      ? `at or above ${contract.vihV} V`
      : `at or below ${contract.vilV} V`;
  const detail =
    `line ${judged.channel} reads ${readingText(judged, plan)}, expected ${judged.expected} (${limit}). ` +
    "Check its relay, its drive supply and its leads; the board was not judged.";
  return ending("line off its level", detail, { code: "line-off-its-level", net: judged.channel });
}
