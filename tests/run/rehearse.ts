/** One run on the scripted bench, from start to end on a virtual clock. */
import { createVirtualClock, type VirtualClock } from "../../src/clock/virtual-clock.ts";
import type { RunEvent } from "../../src/events/events.ts";
import type { Plan } from "../../src/events/plan.ts";
import { type RunEnd, type RunHandle, type RunOptions, startRun } from "../../src/run/start-run.ts";
import { latchPlan } from "./latch-plan.ts";
import { MemoryJournal } from "./memory-journal.ts";
import { type BoardScript, type LinkScript, ScriptedBench } from "./scripted-bench.ts";

export interface Rehearsal {
  readonly clock: VirtualClock;
  readonly bench: ScriptedBench;
  readonly journal: MemoryJournal;
  readonly run: RunHandle;
  readonly plan: Plan;
}

export interface RehearsalOptions {
  readonly plan?: Plan;
  readonly board?: Partial<BoardScript>;
  readonly link?: Partial<LinkScript>;
  readonly prepare?: (parts: Omit<Rehearsal, "run">) => void;
  readonly options?: Partial<RunOptions>;
}

export function rehearse(given: RehearsalOptions = {}): Rehearsal {
  const { plan = latchPlan(), board = {}, link = {}, options = {} } = given;
  const clock = createVirtualClock();
  const bench = new ScriptedBench({ plan, clock, board, link });
  const journal = new MemoryJournal(clock);
  given.prepare?.({ clock, bench, journal, plan });
  const run = startRun({
    plan,
    bench,
    clock,
    journal,
    run: "rehearsal",
    unit: null,
    seed: 1,
    benchName: "scripted bench",
    program: "holdfast test",
    ...options,
  });
  return { clock, bench, journal, run, plan };
}

/** No run on the scripted bench takes longer; a run that does hangs. */
const LONGEST_MS = 120_000;

export async function untilEnd({ clock, run }: Rehearsal): Promise<RunEnd> {
  let end: RunEnd | null = null;
  void run.done.then((reached) => {
    end = reached;
  });
  for (let waitedMs = 0; waitedMs < LONGEST_MS; waitedMs += 500) {
    await clock.advance(500);
    if (end !== null) return end;
  }
  throw new Error(`Expected the run to end within ${LONGEST_MS} ms of its own clock; it did not.`);
}

export function eventsOf<Kind extends RunEvent["kind"]>(
  { journal }: Pick<Rehearsal, "journal">,
  kind: Kind,
): Extract<RunEvent, { kind: Kind }>[] {
  return journal.events.filter(
    (event): event is Extract<RunEvent, { kind: Kind }> => event.kind === kind,
  );
}
