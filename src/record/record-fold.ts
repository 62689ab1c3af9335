/**
 * A run's acceptance record gathered entry by entry: what it keeps is bounded by the plan and not by
 * the length of the run.
 */
import type { JournalEntry, ReadingBudget, RunEvent } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import { type FoldedRun, verdictAtEnd } from "../journal/account.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import { lineOf, sha256Hex } from "../journal/line.ts";
import { chanceBeyond } from "../verdict/risk.ts";
import {
  type AcceptanceRecord,
  RECORD_FORMAT,
  RECORD_VERSION,
  type ResultTotal,
} from "./acceptance-record.ts";
import { benchKind } from "./bench-kind.ts";
import { GapFold } from "./gap-fold.ts";
import { RailFold } from "./rail-fold.ts";
import { ReportFold, STATEMENTS } from "./report-fold.ts";
import { ResultFold } from "./result-fold.ts";
import { SoakFindingsFold } from "./soak-findings-fold.ts";
import { soakRecord } from "./soak-record.ts";
import { holdRecords, StepFold } from "./step-fold.ts";
import { withoutPaths } from "./without-paths.ts";

/** What depends on the plan, from the entry that opens the run on. */
interface PlanFolds {
  readonly plan: Plan;
  readonly report: ReportFold;
  readonly results: ResultFold;
  readonly rails: readonly RailFold[];
  readonly soak: SoakFindingsFold | null;
}

export class RecordFold {
  #run: FoldedRun = initialSnapshot();
  #folds: PlanFolds | null = null;
  readonly #steps = new StepFold();
  readonly #gaps = new GapFold();
  readonly #budgets: ReadingBudget[] = [];
  #warmUpEnd: Extract<RunEvent, { kind: "warm-up-ended" }> | null = null;
  #closedAt: string | null = null;
  #last: JournalEntry | null = null;
  #lines = 0;

  /** The run after the entries so far. */
  get run(): FoldedRun {
    return this.#run;
  }

  take(entry: JournalEntry): void {
    const { event } = entry;
    this.#run = foldEvent(this.#run, entry);
    this.#last = entry;
    this.#lines += 1;
    this.#gaps.take(entry);
    this.#folds?.report.take(event);
    this.#folds?.soak?.take(entry);
    for (const rail of this.#folds?.rails ?? []) rail.take(event);
    switch (event.kind) {
      case "run-opened":
        this.#folds = {
          plan: event.plan,
          report: new ReportFold(event.plan),
          results: new ResultFold(event.plan),
          rails: event.plan.rails.map((planned) => new RailFold(planned)),
          soak: event.soak === undefined ? null : new SoakFindingsFold(event.plan, event.soak),
        };
        break;
      case "reading":
        this.#folds?.results.takeReading(event);
        this.#steps.take(event);
        break;
      case "hold-progress":
        this.#folds?.results.takeProgress(event);
        break;
      case "budget":
        this.#budgets.push(event.budget);
        break;
      case "warm-up-ended":
        this.#warmUpEnd ??= event;
        break;
      case "run-closed":
        this.#closedAt ??= event.wall;
        break;
    }
  }

  /**
   * The record of what was taken. A run that was cut off has one too; its gaps say so.
   *
   * @param tornLine number of a torn last line that was dropped, from 1
   * @throws RangeError when no entry has opened a run
   */
  record(tornLine: number | null = null): AcceptanceRecord {
    const run = this.#run;
    const { opened } = run;
    const last = this.#last;
    if (opened === null || this.#folds === null || last === null) {
      throw new RangeError("Expected entries that begin with the opening of a run, got none.");
    }
    const { plan, report, results, rails } = this.#folds;
    const totals = results.totals();
    const soak = soakRecord(run, this.#folds.soak);
    return {
      format: RECORD_FORMAT,
      version: RECORD_VERSION,
      status: "draft, not released",
      number: null,
      release: null,
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
      closed: this.#closedAt,
      lengthMs: last.ms,
      cause: run.cause,
      detail: run.detail === null ? null : withoutPaths(run.detail),
      firstMiss:
        run.firstMiss === null
          ? null
          : { ...run.firstMiss, text: withoutPaths(run.firstMiss.text) },
      rule: ruleOf(totals, this.#budgets, { decision: opened.rule, plan }),
      claims: plan.claims,
      departures: report.departures(run, plan),
      remarks: report.remarks(),
      statements: STATEMENTS,
      conditions: { ...conditionsOf(run, plan), celsius: report.celsius() },
      warmUp: this.#warmUp(),
      results: totals,
      steps: this.#steps.records(run),
      holds: holdRecords(results.progresses, run),
      rails: rails.map((one) => one.record()),
      ...(soak === undefined ? {} : { soak }),
      doubts: run.account.doubts.map(withoutPaths),
      gaps: this.#gaps.texts(tornLine, run),
      journal: {
        format: opened.format,
        version: opened.version,
        lines: this.#lines,
        lastHash: sha256Hex(lineOf(last)),
      },
    };
  }

  #warmUp(): AcceptanceRecord["warmUp"] {
    const run = this.#run;
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
      cold: (this.#warmUpEnd?.cold ?? []).map(({ net, volts }) => ({ net, volts })),
    };
  }
}

function ruleOf(
  totals: readonly ResultTotal[],
  budgets: readonly ReadingBudget[],
  { decision, plan }: { readonly decision: string; readonly plan: Plan },
): AcceptanceRecord["rule"] {
  const { contract, calibration = null } = plan;
  if (plan.rule?.evaluated !== true) {
    return { decision, uncertainty: "uncertainty not evaluated", contract };
  }
  const risks = totals.flatMap(({ channel, expected, worst }) => {
    const budget = budgets.find((one) => one.channel === channel && one.class === expected);
    if (budget === undefined || worst === null || budget.u === 0) return [];
    return [
      { channel, expected, chance: chanceBeyond(worst.marginV, budget.u, budget.dof ?? undefined) },
    ];
  });
  return { decision, uncertainty: "evaluated", contract, calibration, budgets, risks };
}

function conditionsOf(run: FoldedRun, plan: Plan): Omit<AcceptanceRecord["conditions"], "celsius"> {
  const { controller, opened } = run;
  return {
    bench: benchKind(opened?.bench),
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

function scopeText({ opened }: FoldedRun, { board }: Plan): string {
  const unit = opened?.unit == null ? "the one unit under proof" : `unit ${opened.unit}`;
  const day = opened?.wall.slice(0, 10) ?? "an unknown day";
  const bench =
    benchKind(opened?.bench) !== "port"
      ? " Unit, bench and date were simulated: it says nothing about a built board."
      : "";
  return (
    `This verdict is about ${unit} of board ${board.name} revision ${board.revision}, in the ` +
    `condition it had and under the conditions stated here, on ${day}. It says nothing about ` +
    `other units, other conditions or other days.${bench}`
  );
}
