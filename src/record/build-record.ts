/** A run's sealed entries, and nothing else, into its acceptance record. */
import type { JournalEntry } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import { type FoldedRun, verdictAtEnd } from "../journal/account.ts";
import { foldJournal } from "../journal/fold.ts";
import { lineOf, sha256Hex } from "../journal/line.ts";
import { chanceBeyond } from "../verdict/risk.ts";
import { type AcceptanceRecord, RECORD_FORMAT, RECORD_VERSION } from "./acceptance-record.ts";
import { countResults } from "./count-results.ts";
import { gapTexts, holdRecords, railRecords, stepRecords } from "./record-parts.ts";
import { withoutPaths } from "./without-paths.ts";

/**
 * The record of a run. A run that was cut off has one too; its gaps say so.
 *
 * @param entries  every sealed entry, in order
 * @param tornLine number of a torn last line that was dropped, from 1
 * @throws RangeError when there is no entry that opens the run
 */
export function buildRecord(
  entries: readonly JournalEntry[],
  tornLine: number | null = null,
): AcceptanceRecord {
  const run = foldJournal(entries);
  const last = entries.at(-1);
  const { opened, plan } = run;
  if (opened === null || plan === null || last === undefined) {
    throw new RangeError("Expected entries that begin with the opening of a run, got none.");
  }
  const closing = entries.find(({ event }) => event.kind === "run-closed")?.event;
  return {
    format: RECORD_FORMAT,
    version: RECORD_VERSION,
    status: "draft, not signed",
    verdict: run.verdict ?? verdictAtEnd(run, null),
    scope: scopeText(run, plan),
    run: opened.run,
    unit: opened.unit,
    ...(opened.unitSheet === undefined ? {} : { unitSheet: opened.unitSheet }),
    board: plan.board,
    stages: plan.stages,
    mode: run.mode,
    rig: plan.rig.name,
    ...(opened.rigCheck === undefined ? {} : { rigCheck: opened.rigCheck }),
    sequence: plan.sequence.name,
    program: opened.program,
    files: plan.sources,
    opened: opened.wall,
    closed: closing?.kind === "run-closed" ? closing.wall : null,
    lengthMs: last.ms,
    cause: run.cause,
    detail: run.detail === null ? null : withoutPaths(run.detail),
    firstMiss:
      run.firstMiss === null ? null : { ...run.firstMiss, text: withoutPaths(run.firstMiss.text) },
    rule: ruleOf(entries, opened.rule, plan),
    claims: plan.claims,
    conditions: conditionsOf(run, plan),
    warmUp: warmUpOf(entries, run),
    results: countResults(entries, plan),
    steps: stepRecords(entries, run),
    holds: holdRecords(entries, run),
    rails: railRecords(entries, plan),
    doubts: run.account.doubts.map(withoutPaths),
    gaps: gapTexts(entries, tornLine, run),
    journal: {
      format: opened.format,
      version: opened.version,
      lines: entries.length,
      lastHash: sha256Hex(lineOf(last)),
    },
  };
}

function ruleOf(
  entries: readonly JournalEntry[],
  decision: string,
  plan: Plan,
): AcceptanceRecord["rule"] {
  const { contract, calibration = null } = plan;
  if (plan.rule?.evaluated !== true) {
    return { decision, uncertainty: "uncertainty not evaluated", contract };
  }
  const budgets = entries.flatMap(({ event }) => (event.kind === "budget" ? [event.budget] : []));
  const risks = countResults(entries, plan).flatMap(({ channel, expected, worst }) => {
    const budget = budgets.find((one) => one.channel === channel && one.class === expected);
    if (budget === undefined || worst === null || budget.u === 0) return [];
    return [
      { channel, expected, chance: chanceBeyond(worst.marginV, budget.u, budget.dof ?? undefined) },
    ];
  });
  return { decision, uncertainty: "evaluated", contract, calibration, budgets, risks };
}

function conditionsOf(run: FoldedRun, plan: Plan): AcceptanceRecord["conditions"] {
  const { controller, opened } = run;
  return {
    // Which port it was is a matter of this host.
    bench: opened?.bench.startsWith("emulated") ? "emulated" : "port",
    seed: opened?.seed ?? null,
    controller:
      controller === null
        ? null
        : {
            model: controller.model,
            serial: controller.serial,
            firmware: controller.firmware,
            resetCause: controller.resetCause,
            bootCount: controller.bootCount,
          },
    conversionsPerReading: plan.samples,
    slowestTimeConstantMs: plan.slowestTimeConstantMs,
  };
}

function warmUpOf(entries: readonly JournalEntry[], run: FoldedRun): AcceptanceRecord["warmUp"] {
  const ended = entries.find(({ event }) => event.kind === "warm-up-ended")?.event;
  const takenOverMs = run.rails.find(({ rail }) => rail === "heater")?.takenOverMs;
  return {
    warm: run.account.warm,
    tookMs: run.warmUpMs,
    ...(takenOverMs === undefined ? {} : { heatersTakenOverMs: takenOverMs }),
    nets: run.warm.map(({ net, validMs, steadyMs }) => ({
      net,
      validByMs: validMs,
      steadyByMs: steadyMs,
    })),
    cold:
      ended?.kind === "warm-up-ended" ? ended.cold.map(({ net, volts }) => ({ net, volts })) : [],
  };
}

function scopeText({ opened }: FoldedRun, { board }: Plan): string {
  const unit = opened?.unit == null ? "the one unit under proof" : `unit ${opened.unit}`;
  const day = opened?.wall.slice(0, 10) ?? "an unknown day";
  const bench = opened?.bench.startsWith("emulated")
    ? " Unit, bench and date were simulated: it says nothing about a built board."
    : "";
  return (
    `This verdict is about ${unit} of board ${board.name} revision ${board.revision}, in the ` +
    `condition it had and under the conditions stated here, on ${day}. It says nothing about ` +
    `other units, other conditions or other days.${bench}`
  );
}
