/** A whole proof on the emulated bench in this process, for campaigns of many runs. */
import { createHash } from "node:crypto";
import { join, resolve } from "node:path";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerPort } from "../../src/bench/controller-port.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import type { Clock } from "../../src/clock/clock.ts";
import { firmwareText } from "../../src/commands/emulated-fixture.ts";
import { loadProof, type Proof } from "../../src/commands/proof-folder.ts";
import type { RailName, Verdict } from "../../src/events/levels.ts";
import type { Plan } from "../../src/events/plan.ts";
import type { JournalFile } from "../../src/journal/journal-file.ts";
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
  /** Waits changed where only the logic is asked about; null keeps the sequence's. */
  readonly haste: Haste | null;
}

/** Waits of a sequence, all in ms, for a campaign of many runs. No limit of a reading is among them. */
export interface Haste {
  /** Longer holds are cut to this. */
  readonly holdMsMax: number;
  /** A longer time-out of warm-up is cut to this. */
  readonly warmUpMsMax: number;
  /** Shorter settling in warm-up is stretched to this: the tubes warm no faster for more looks. */
  readonly warmUpSettleMsMin: number;
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

/** Holds are long for the slow night of a real board; a campaign asks only whether they hold. */
export function hastened(plan: Plan, haste: Haste | null): Plan {
  if (haste === null) return plan;
  const { holdMsMax, warmUpMsMax, warmUpSettleMsMin } = haste;
  const steps = plan.steps.map((step) =>
    step.kind === "hold"
      ? {
          ...step,
          forMs: Math.min(step.forMs, holdMsMax),
          flip: { ...step.flip, forMs: Math.min(step.flip.forMs, holdMsMax) },
        }
      : step,
  );
  const warmUp = {
    ...plan.warmUp,
    timeoutMs: Math.min(plan.warmUp.timeoutMs, warmUpMsMax),
    exercise: plan.warmUp.exercise.map((one) => ({
      ...one,
      settleMs: Math.max(one.settleMs, warmUpSettleMsMin),
    })),
  };
  return { ...plan, steps, warmUp };
}

interface JournalInMemory {
  readonly createFile: () => JournalFile;
  sha256(): string;
}

/** Nobody reads the journals of a campaign, so the disk need not confirm a thousand lines of each. */
function journalInMemory(): JournalInMemory {
  const hash = createHash("sha256");
  return {
    createFile: () => ({
      write(bytes) {
        hash.update(bytes);
        return bytes.length;
      },
      sync: () => undefined,
      truncate(size) {
        throw new Error(`Expected memory to take every byte, but a cut to ${size} was asked for.`);
      },
      close: () => undefined,
    }),
    sha256: () => hash.digest("hex"),
  };
}

export async function runEmulated(job: EmulatedRunJob): Promise<EmulatedRunResult> {
  const begun = performance.now();
  const proof = await shippedProof(job.board);
  const { circuit, rig } = proof;
  if (circuit === null) throw new Error(`${job.board} has no circuit`);
  const plan = hastened(proof.plan, job.haste);
  const fixture = createFixture({
    circuit,
    rig,
    seed: job.seed,
    changes: job.changes,
    ...(job.spread === null ? {} : { spread: job.spread }),
  });
  const emulated = openEmulatedBench({ fixture, hexText: firmwareText(), seed: job.seed });
  const highestV = { heater: 0, bias: 0, plate: 0 };
  emulated.log((entry) => {
    if (entry.kind !== "volts") return;
    for (const rail of ["heater", "bias", "plate"] as const) {
      highestV[rail] = Math.max(highestV[rail], Math.abs(entry.rails[rail]));
    }
  });
  try {
    const ended = await runPlan({ plan, bench: emulated, seed: job.seed });
    return { ...ended, highestV, wallMs: performance.now() - begun };
  } finally {
    emulated.dispose();
  }
}

/** One run of a plan on a bench in this process, with a journal that nobody reads. */
export async function runPlan(job: {
  readonly plan: Plan;
  readonly bench: { readonly port: ControllerPort; readonly clock: Clock };
  readonly seed: number;
}): Promise<Omit<EmulatedRunResult, "highestV">> {
  const begun = performance.now();
  const { plan, seed } = job;
  const { clock, port } = job.bench;
  const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
  const memory = journalInMemory();
  const { createFile } = memory;
  const journal = openJournal({ path: "memory", clock, startMs: clock.nowMs(), createFile });
  const run = startRun({
    plan,
    bench,
    clock,
    journal,
    run: "campaign",
    unit: null,
    seed,
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
    journalSha256: memory.sha256(),
    simulatedMs: ms,
    wallMs: performance.now() - begun,
  };
}
