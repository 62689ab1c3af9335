/** A whole proof on the bench for nights in this process. */
import { openNightBench } from "../../src/commands/night-bench.ts";
import type { Scenario } from "../../src/formats/scenario.schema.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";
import {
  type EmulatedRunResult,
  type Haste,
  hastened,
  runPlan,
  shippedProof,
} from "./emulated-run.ts";

export async function runAtNight(job: {
  readonly board: string;
  readonly seed: number;
  readonly changes: readonly PartChange[];
  readonly scenario: Scenario | null;
  readonly haste: Haste | null;
}): Promise<Omit<EmulatedRunResult, "highestV">> {
  const { seed, changes, scenario } = job;
  const proof = await shippedProof(job.board);
  const bench = await openNightBench(proof, { seed, faults: changes, scenario, paceRatio: null });
  try {
    return await runPlan({ plan: hastened(proof.plan, job.haste), bench, seed });
  } finally {
    bench.dispose();
  }
}
