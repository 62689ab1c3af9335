/** A whole rig check on the modelled bench in this process, for campaigns of many rigs. */
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import type { Phase } from "../../src/events/events.ts";
import type { RigFacts, RigFinding } from "../../src/events/rig-check.ts";
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
  /** Stop as a person would, a moment into this phase. */
  readonly stopAt?: Phase;
}

export interface RigCheckResult {
  readonly cause: string;
  readonly detail: string;
  readonly findings: readonly RigFinding[];
  /** Null when the check was broken off. */
  readonly facts: RigFacts | null;
  readonly allProvedOff: boolean;
}

/** A rail that was ordered on is up by then, and its relay has stopped bouncing. */
const STOP_AFTER_MS = 30;

const nowhere = {
  write: (bytes: Uint8Array) => bytes.length,
  sync: () => undefined,
  truncate: () => undefined,
  close: () => undefined,
};

/** Dividers are scattered by the seed as 1 % parts picked to half of that. */
export async function runRigCheck(job: RigCheckJob): Promise<RigCheckResult> {
  const { board, seed, changes } = job;
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
    let facts: RigFacts | null = null;
    journal.subscribe(({ event }) => {
      if (event.kind === "phase" && event.phase === job.stopAt) {
        clock.setTimeout(() => run.stop("person", "q"), STOP_AFTER_MS);
      }
      if (event.kind !== "rig-checked") return;
      findings.push(...event.findings);
      facts = event.facts;
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
      conduct: { mode: "rig check", handMs: 0, freezeMs: null, standbyMs: null, soak: null },
      rigCheck: { depth: "full", alone: true, newest: null },
    });
    const { cause, detail, allProvedOff } = await run.done;
    journal.close();
    await bench.close();
    return { cause, detail, findings, facts, allProvedOff };
  } finally {
    modelled.dispose();
  }
}
