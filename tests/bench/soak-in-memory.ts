/** A whole soak on the modelled bench, its journal told event by event and kept nowhere. */
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { openNightBench } from "../../src/commands/night-bench.ts";
import type { JournalEntry } from "../../src/events/events.ts";
import type { Plan } from "../../src/events/plan.ts";
import type { SoakOrder } from "../../src/events/soak.ts";
import type { Scenario } from "../../src/formats/scenario.schema.ts";
import type { JournalFile } from "../../src/journal/journal-file.ts";
import { openJournal } from "../../src/journal/open-journal.ts";
import { startSoak } from "../../src/run/soak-run.ts";
import type { RunEnd } from "../../src/run/start-run.ts";
import type { ModelledBench } from "../../src/simulate/modelled-bench.ts";
import { settableSupplies } from "../../src/simulate/settable-supplies.ts";
import { shippedProof } from "./emulated-run.ts";

export interface SoakJob {
  readonly board: string;
  readonly seed: number;
  readonly scenario: Scenario | null;
  /** What differs from the sequence's own cycle, kept on all the time with somebody there. */
  readonly order: Partial<SoakOrder>;
}

export interface LivedSoak {
  readonly end: RunEnd;
  readonly cycles: number;
  /** The moment of the bench's clock from which its entries count. */
  readonly openedMs: number;
}

/**
 * A shipped board as it ships.
 *
 * @param onEntry told of every sealed entry
 */
export async function soakInMemory(
  { board, seed, scenario, order }: SoakJob,
  onEntry: (entry: JournalEntry) => void,
): Promise<LivedSoak> {
  const proof = await shippedProof(board);
  const bench = await openNightBench(proof, { seed, faults: [], scenario, paceRatio: null });
  return soakOnBench({ bench, plan: proof.plan, seed, order }, onEntry);
}

/** On a bench of one's own, which is disposed of at the end. */
export async function soakOnBench(
  given: {
    readonly bench: ModelledBench;
    readonly plan: Plan;
    readonly seed: number;
    readonly order: Partial<SoakOrder>;
  },
  onEntry: (entry: JournalEntry) => void,
): Promise<LivedSoak> {
  const { bench: modelled, plan, seed, order } = given;
  if (plan.soak === undefined) throw new Error(`${plan.board.name} has no soak.`);
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
      order: orderOf(plan.soak, order),
      openedMs,
      resumed: null,
      findAgain: null,
      supplies: settableSupplies((change) => modelled.change(change)),
    });
    const end = await run.done;
    journal.close();
    await bench.close();
    const cycles = run.snapshot().soak?.counts.cycles ?? 0;
    return { end, cycles, openedMs };
  } finally {
    modelled.dispose();
  }
}

/** A member that is given as undefined is not in the order at all: a journal has none such. */
function orderOf(soak: NonNullable<Plan["soak"]>, change: Partial<SoakOrder>): SoakOrder {
  const { heaterLow, ...order } = {
    ...soak,
    forMs: null,
    cycles: null,
    errorsMax: null,
    goOn: [],
    attendance: "attended" as const,
    ...change,
  };
  return heaterLow === undefined ? order : { ...order, heaterLow };
}

function nowhere(): JournalFile {
  return {
    write: (bytes) => bytes.length,
    sync: () => undefined,
    truncate: () => undefined,
    close: () => undefined,
  };
}
