/** A whole soak on the modelled bench for nights, its journal told event by event and kept nowhere. */
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { openNightBench } from "../../src/commands/night-bench.ts";
import type { JournalEntry } from "../../src/events/events.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import type { Scenario } from "../../src/formats/scenario.schema.ts";
import type { JournalFile } from "../../src/journal/journal-file.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { startSoak } from "../../src/run/soak-run.ts";
import type { RunEnd } from "../../src/run/start-run.ts";
import { shippedProof } from "./emulated-run.ts";

export interface SoakJob {
  readonly board: string;
  readonly seed: number;
  readonly scenario: Scenario | null;
  /** What differs from the sequence's own cycle, kept on all the time with somebody there. */
  readonly order: Partial<SoakOrder>;
}

/**
 * @param onEntry told of every sealed entry
 * @returns how it ended, and the moment of the bench's clock from which its entries count
 */
export async function soakInMemory(
  { board, seed, scenario, order }: SoakJob,
  onEntry: (entry: JournalEntry) => void,
): Promise<{ readonly end: RunEnd; readonly openedMs: number }> {
  const proof = await shippedProof(board);
  const { plan } = proof;
  if (plan.soak === undefined) throw new Error(`${board} has no soak.`);
  const modelled = await openNightBench(proof, { seed, faults: [], scenario, paceRatio: null });
  const { clock, port } = modelled;
  try {
    const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
    const openedMs = clock.nowMs();
    const journal = openJournal({ path: "memory", clock, startMs: openedMs, createFile: nowhere });
    journal.subscribe(onEntry);
    const run = startSoak({
      plan,
      bench,
      clock,
      journal,
      run: "soak",
      unit: null,
      seed,
      benchName: port.name,
      program: "holdfast figures",
      order: {
        ...plan.soak,
        forMs: null,
        cycles: null,
        errorsMax: null,
        goOn: [],
        attendance: "attended",
        ...order,
      },
      openedMs,
      resumed: null,
      findAgain: null,
    });
    const end = await run.done;
    journal.close();
    await bench.close();
    return { end, openedMs };
  } finally {
    modelled.dispose();
  }
}

function nowhere(): JournalFile {
  return {
    write: (bytes) => bytes.length,
    sync: () => undefined,
    truncate: () => undefined,
    close: () => undefined,
  };
}
