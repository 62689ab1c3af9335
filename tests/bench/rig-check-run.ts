/** A whole rig check on the modelled bench in this process, for campaigns of many rigs. */
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import type { RigFinding } from "../../src/events/rig-check.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { emptyConnectorPlan } from "../../src/plan/empty-connector.ts";
import { startRun } from "../../src/run/start-run.ts";
import { USUAL_SPREAD } from "../../src/simulate/circuit/board-model.ts";
import { createFixture } from "../../src/simulate/fixture/create-fixture.ts";
import type { PartChange } from "../../src/simulate/fixture.ts";
import { openModelledBench } from "../../src/simulate/modelled-bench.ts";
import { shippedProof } from "./emulated-run.ts";

export interface RigCheckJob {
  readonly board: string;
  readonly seed: number;
  readonly changes: readonly PartChange[];
}

export interface RigCheckResult {
  readonly cause: string;
  readonly detail: string;
  readonly findings: readonly RigFinding[];
  readonly allProvedOff: boolean;
}

const nowhere = {
  write: (bytes: Uint8Array) => bytes.length,
  sync: () => undefined,
  truncate: () => undefined,
  close: () => undefined,
};

/** Dividers are scattered by the seed as 1 % parts picked to half of that. */
export async function runRigCheck({ board, seed, changes }: RigCheckJob): Promise<RigCheckResult> {
  const proof = await shippedProof(board);
  const { circuit, rig } = proof;
  if (circuit === null) throw new Error(`${board} has no circuit`);
  const plan = emptyConnectorPlan(proof.plan);
  const fixture = createFixture({
    circuit,
    rig,
    seed,
    changes,
    spread: USUAL_SPREAD,
    boardAbsent: true,
  });
  const modelled = openModelledBench({ fixture, paceRatio: null });
  try {
    const { clock, port } = modelled;
    const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
    const journal = openJournal({
      path: "memory",
      clock,
      startMs: clock.nowMs(),
      createFile: () => nowhere,
    });
    const findings: RigFinding[] = [];
    journal.subscribe(({ event }) => {
      if (event.kind === "rig-checked") findings.push(...event.findings);
    });
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
      conduct: { mode: "rig check", handMs: 0, freezeMs: null, standbyMs: null },
      rigCheck: { depth: "full", alone: true, newest: null },
    });
    const { cause, detail, allProvedOff } = await run.done;
    journal.close();
    await bench.close();
    return { cause, detail, findings, allProvedOff };
  } finally {
    modelled.dispose();
  }
}
