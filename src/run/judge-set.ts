/** One reading set, lines and nets together, judged: what the step is worth after it. */
import type { JudgedReading } from "../events/events.ts";
import type { ResultClass } from "../events/levels.ts";
import type { ExpectedClasses, Plan } from "../events/plan.ts";
import { worstResult } from "../verdict/decision-rule.ts";
import { judgeReading } from "../verdict/judge.ts";
import { type Ending, ending } from "./ending.ts";
import type { DrivenLine } from "./line-book.ts";
import { judgeLines, lineOffItsLevel } from "./line-check.ts";
import { readChannels } from "./look.ts";
import type { StepOutcome } from "./machine-words.ts";
import { missText } from "./miss-text.ts";
import type { RunParts } from "./run-parts.ts";

export interface JudgedSet {
  readonly result: ResultClass;
  /** Lines first, then nets. */
  readonly readings: readonly JudgedReading[];
  /** Null when the run goes on. */
  readonly ending: Ending | null;
}

export interface SetWanted {
  readonly expect: ExpectedClasses;
  readonly lines: readonly DrivenLine[];
  /** Where in the run, for the sentence on a miss. */
  readonly where: string;
}

/**
 * @throws RunFault "energising-closed" when the run began to end meanwhile: what is read while the
 *   outputs go off says nothing about the board
 */
export async function readAndJudge(wanted: SetWanted, parts: RunParts): Promise<JudgedSet> {
  const nets = Object.keys(wanted.expect);
  const names = [...new Set([...wanted.lines.map(({ channel }) => channel), ...nets])];
  const readings = await readChannels(names, parts);
  parts.latch.assertOpen("judging a reading");
  const { contract } = parts.plan;
  const lines = judgeLines(readings, wanted.lines, contract);
  const judgedNets = readings.flatMap((reading) => {
    const expected = wanted.expect[reading.channel];
    return expected === undefined ? [] : [judgeReading(reading, expected, parts.plan)];
  });
  for (const net of judgedNets) {
    const said = parts.sources.learn(net);
    if (said !== null) parts.scribe.write({ kind: "remark", text: said });
    const budget = net.class === null ? null : parts.rig.freshBudget(net.channel, net.class);
    if (budget !== null) parts.scribe.write({ kind: "budget", budget });
  }
  return judgeSet({ lines, nets: judgedNets, where: wanted.where }, parts.plan);
}

interface SetRead {
  readonly lines: readonly JudgedReading[];
  readonly nets: readonly JudgedReading[];
  readonly where: string;
}

/**
 * A line off its level voids the whole set, whatever the nets read. Then a net that fails fails it,
 * and a required net without a reading voids it.
 */
export function judgeSet({ lines, nets, where }: SetRead, plan: Plan): JudgedSet {
  const off = lines.find(({ result }) => result !== "pass");
  if (off !== undefined) {
    const voided = nets.map((net): JudgedReading => ({ ...net, result: "void" }));
    return {
      result: "void",
      readings: [...lines, ...voided],
      ending: lineOffItsLevel(off, plan),
    };
  }
  const readings = [...lines, ...nets];
  const miss =
    nets.find(({ result }) => result === "fail") ?? nets.find(({ result }) => result === "void");
  if (miss === undefined) {
    return { result: worstResult(nets.map(({ result }) => result)), readings, ending: null };
  }
  const result = miss.result === "fail" ? "fail" : "void";
  return { result, readings, ending: ending("first fail", missText(miss, where, plan)) };
}

/** What a judged set means for going on; the class of one that goes on is the scribe's matter. */
export function outcomeOf({ result, ending }: Pick<JudgedSet, "result" | "ending">): StepOutcome {
  return ending === null || (result !== "fail" && result !== "void")
    ? { result: "pass", ending: null }
    : { result, ending };
}
