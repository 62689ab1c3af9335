/** A whole proof on the emulated bench in this process, for campaigns of many runs. */
import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { firmwareText } from "../../src/commands/emulated-fixture.ts";
import { loadProof, type Proof } from "../../src/commands/proof-folder.ts";
import type { RailName, Verdict } from "../../src/events/levels.ts";
import type { Plan } from "../../src/events/plan.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import type { RunSnapshot } from "../../src/journal/snapshot.ts";
import { startRun } from "../../src/run/start-run.ts";
import type { Spread } from "../../src/simulate/circuit/board-model.ts";
import { openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { createFixture } from "../../src/simulate/fixture/create-fixture.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";

const root = resolve(import.meta.dirname, "../..");

export interface EmulatedRunJob {
  readonly board: string;
  readonly seed: number;
  readonly changes: readonly PartChange[];
  /** Parts and tubes scattered by the seed, or all at their printed values. */
  readonly spread: Spread | null;
  /** Long holds are cut to this many ms where only the logic is asked about; null keeps them. */
  readonly holdMsMax: number | null;
  /** The time-out of warm-up is cut to this many ms; null keeps the sequence's. */
  readonly warmUpMsMax: number | null;
}

export interface EmulatedRunResult {
  readonly verdict: Verdict;
  readonly cause: string;
  readonly detail: string;
  readonly firstMiss: RunSnapshot["firstMiss"];
  /** Largest magnitude each rail reached on the board side, by the bench's own log, volts. */
  readonly highestV: Readonly<Record<RailName, number>>;
  readonly journalSha256: string;
  readonly simulatedMs: number;
  readonly wallMs: number;
}

const proofs = new Map<string, Promise<Proof>>();

export async function shippedProof(board: string): Promise<Proof> {
  const known = proofs.get(board);
  if (known) return known;
  const loading = loadProof(join(root, "sequences", board)).then((result) => {
    if (!result.ok) throw new Error(result.problems.map((one) => one.reason).join("\n"));
    return result.proof;
  });
  proofs.set(board, loading);
  return loading;
}

function withWarmUpCut(plan: Plan, warmUpMsMax: number | null): Plan {
  if (warmUpMsMax === null) return plan;
  const timeoutMs = Math.min(plan.warmUp.timeoutMs, warmUpMsMax);
  return { ...plan, warmUp: { ...plan.warmUp, timeoutMs } };
}

/** Holds are long for the slow night of a real board; a campaign asks only whether they hold. */
function withHoldsCut(plan: Plan, holdMsMax: number | null): Plan {
  if (holdMsMax === null) return plan;
  const steps = plan.steps.map((step) =>
    step.kind === "hold"
      ? {
          ...step,
          forMs: Math.min(step.forMs, holdMsMax),
          flip: { ...step.flip, forMs: Math.min(step.flip.forMs, holdMsMax) },
        }
      : step,
  );
  return { ...plan, steps };
}

export async function runEmulated(job: EmulatedRunJob): Promise<EmulatedRunResult> {
  const begun = performance.now();
  const proof = await shippedProof(job.board);
  const { circuit, rig } = proof;
  if (circuit === null) throw new Error(`${job.board} has no circuit`);
  const plan = withWarmUpCut(withHoldsCut(proof.plan, job.holdMsMax), job.warmUpMsMax);
  const fixture = createFixture({
    circuit,
    rig,
    seed: job.seed,
    changes: job.changes,
    ...(job.spread === null ? {} : { spread: job.spread }),
  });
  const emulated = openEmulatedBench({ fixture, hexText: firmwareText(), seed: job.seed });
  const folder = mkdtempSync(join(tmpdir(), "holdfast-run-"));
  const highestV = { heater: 0, bias: 0, plate: 0 };
  emulated.log((entry) => {
    if (entry.kind !== "volts") return;
    for (const rail of ["heater", "bias", "plate"] as const) {
      highestV[rail] = Math.max(highestV[rail], Math.abs(entry.rails[rail]));
    }
  });
  try {
    const { clock, port } = emulated;
    const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
    const path = join(folder, "journal.ndjson");
    const journal = openJournal({ path, clock, startMs: clock.nowMs() });
    const run = startRun({
      plan,
      bench,
      clock,
      journal,
      run: "campaign",
      unit: null,
      seed: job.seed,
      benchName: port.name,
      program: "holdfast figures",
    });
    const end = await run.done;
    const { firstMiss, ms } = run.snapshot();
    journal.close();
    await bench.close();
    return {
      verdict: end.verdict,
      cause: end.cause,
      detail: end.detail,
      firstMiss,
      highestV,
      journalSha256: createHash("sha256").update(readFileSync(path)).digest("hex"),
      simulatedMs: ms,
      wallMs: performance.now() - begun,
    };
  } finally {
    emulated.dispose();
    rmSync(folder, { recursive: true });
  }
}
