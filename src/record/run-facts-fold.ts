/** What the index of runs is told of a run: a fold of its journal and of nothing else. */

import type { JournalEntry } from "../events/events.ts";
import type { Plan, PlanSource } from "../events/plan.ts";
import { type FoldedRun, verdictAtEnd } from "../journal/account.ts";
import { driftSoFar } from "../journal/drift-so-far.ts";
import { foldEvent, initialSnapshot } from "../journal/fold.ts";
import type { JournalEnd } from "../journal/scan-journal.ts";
import type {
  CalibrationRow,
  PlaceRow,
  RecordRow,
  ResultRow,
  RunFacts,
  RunRow,
  SoakRow,
} from "../store/run-index/tables.ts";
import type { DriftReport } from "../verdict/drift/report.ts";
import type { ResultTotal } from "./acceptance-record.ts";
import { benchKind } from "./bench-kind.ts";
import { driftRows } from "./drift-rows.ts";
import { MeanFold } from "./mean-fold.ts";
import { ResultFold } from "./result-fold.ts";
import { TubeTimeFold } from "./tube-time-fold.ts";
import { withoutPaths } from "./without-paths.ts";

interface PlanFolds {
  readonly results: ResultFold;
  readonly time: TubeTimeFold;
}

export class RunFactsFold {
  #run: FoldedRun = initialSnapshot();
  #folds: PlanFolds | null = null;
  readonly #means = new MeanFold();
  #closed: string | null = null;
  #journalVersion = 1;

  take(entry: JournalEntry): void {
    const { event } = entry;
    this.#run = foldEvent(this.#run, entry);
    this.#folds?.time.take(entry);
    switch (event.kind) {
      case "run-opened":
        this.#journalVersion = event.version;
        this.#folds = { results: new ResultFold(event.plan), time: new TubeTimeFold(event.plan) };
        break;
      case "reading":
        this.#folds?.results.takeReading(event);
        this.#means.take(event.readings);
        break;
      case "hold-progress":
        this.#folds?.results.takeProgress(event);
        break;
      case "soak-readings":
        if (event.moment === "heater low") break;
        for (const { step, readings } of event.steps) {
          this.#folds?.results.takeReading({ kind: "reading", step, part: "pattern", readings });
          this.#means.take(readings);
        }
        break;
      case "run-closed":
        this.#closed ??= event.wall;
        break;
    }
  }

  /**
   * @param file name of the run's folder, and the journal's size in bytes
   * @param records what lies beside the journal
   * @throws RangeError when no entry has opened a run
   */
  facts(
    file: { readonly run: string; readonly bytes: number },
    end: JournalEnd,
    records: readonly RecordRow[],
  ): RunFacts {
    const { opened, plan } = this.#run;
    if (opened === null || plan === null || this.#folds === null) {
      throw new RangeError("Expected entries that begin with the opening of a run, got none.");
    }
    const { run } = file;
    const calibration = calibrationOf(plan);
    const drift = driftSoFar(this.#run);
    return {
      run: {
        ...file,
        ...this.#course(),
        unit: opened.unit,
        board: plan.board.name,
        revision: plan.board.revision,
        sequence: plan.sequence.name,
        rig: plan.rig.name,
        bench: benchKind(opened.bench) === "port" ? "port" : "emulated",
        seed: opened.seed,
        program: opened.program,
        rule: opened.rule,
        uncertainty: plan.rule?.evaluated === true ? "evaluated" : "not evaluated",
        ...hashes(plan.sources),
        calibration: calibration?.id ?? null,
        rigCheck: opened.rigCheck?.id ?? null,
        opened: opened.wall,
        openedMs: Date.parse(opened.wall),
        journalVersion: this.#journalVersion,
        lines: end.lines,
        lastHash: end.lastHash,
        tornBytes: end.torn?.bytes ?? 0,
      },
      places: this.#places(run),
      sections: this.#folds.time.sections().map((section) => ({ run, ...section })),
      results: this.#folds.results.totals().map((total) => this.#result(run, total)),
      soak: soakOf(run, this.#run, drift),
      drifts: drift === null ? [] : driftRows(run, drift),
      calibration,
      records,
    };
  }

  #course(): Pick<
    RunRow,
    "mode" | "seal" | "verdict" | "cause" | "firstMiss" | "closed" | "lengthMs" | "warmUpMs"
  > {
    const { mode, cause, verdict, firstMiss, ms, warmUpMs } = this.#run;
    return {
      mode,
      seal: cause === null ? "not closed" : "closed",
      verdict: verdict ?? verdictAtEnd(this.#run, null),
      cause,
      firstMiss: firstMiss === null ? null : withoutPaths(firstMiss.text),
      closed: this.#closed,
      lengthMs: ms,
      warmUpMs,
    };
  }

  /** Sockets by the board's stages; a unit file names the same ones, and what is in them. */
  #places(run: string): PlaceRow[] {
    const { opened, plan } = this.#run;
    const time = this.#folds?.time.board() ?? { heaterMs: 0, plateMs: 0, heaterOnlyMs: 0 };
    const sheet = opened?.unitSheet?.tubes ?? [];
    const positions = new Set([
      ...sheet.map(({ position }) => position),
      ...(plan?.stages ?? []).flatMap(({ position }) => position ?? []),
    ]);
    return [...positions].map((position) => {
      const found = sheet.find((one) => one.position === position);
      return { run, position, tube: found?.tube ?? null, serial: found?.serial ?? null, ...time };
    });
  }

  #result(run: string, { worst, ...total }: ResultTotal): ResultRow {
    const mean = this.#means.mean(total.channel, total.expected);
    return {
      run,
      ...total,
      worstV: worst?.volts ?? null,
      limitV: worst?.limitV ?? null,
      marginV: worst?.marginV ?? null,
      worstExpandedV: worst?.expandedV ?? null,
      meanV: mean?.meanV ?? null,
      sdV: mean?.sdV ?? null,
      meanCount: mean?.count ?? 0,
      meanExpandedV: mean?.expandedV ?? null,
    };
  }
}

function calibrationOf({ calibration, rig }: Plan): CalibrationRow | null {
  if (calibration === undefined) return null;
  const { id, date, expires, meter, celsius } = calibration;
  return { id, rig: rig.name, date, expires, meter, celsius: celsius ?? null };
}

function hashes(
  sources: readonly PlanSource[],
): Pick<RunRow, "boardSha256" | "sequenceSha256" | "rigSha256"> {
  const of = (role: PlanSource["role"]) =>
    sources.find((source) => source.role === role)?.sha256 ?? null;
  return { boardSha256: of("board"), sequenceSha256: of("sequence"), rigSha256: of("rig") };
}

function soakOf(run: string, { soak }: FoldedRun, drift: DriftReport | null): SoakRow | null {
  if (soak === undefined) return null;
  const { counts, legs, kinds, order } = soak;
  const { closings: _, link: __, ...counted } = counts;
  const behaving = (name: string) => kinds.filter((kind) => kind.class === name).length;
  return {
    run,
    ...counted,
    legs: legs.length,
    transient: behaving("transient"),
    intermittent: behaving("intermittent"),
    steady: behaving("steady"),
    attendance: order.attendance,
    drift: drift !== null && (drift.judged || drift.findings.length > 0) ? "judged" : "not judged",
  };
}
