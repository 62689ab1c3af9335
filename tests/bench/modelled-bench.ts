/**
 * How fast time passes on the modelled bench: virtual seconds a real second and core, through the whole
 * client, while supervision looks and feeds, and while a line is stepped and four channels are read twice a
 * second beside it. A night of cycles has to fit into the time it takes to fetch a coffee.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createActor } from "xstate";
import { connectController } from "../../src/bench/connect-controller.ts";
import type { ControllerBench } from "../../src/bench/controller-bench.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import type { Plan } from "../../src/events/plan.ts";
import { type Journal, openJournal } from "../../src/journal/open-journal.ts";
import { createRunParts } from "../../src/run/run-parts.ts";
import { Scribe } from "../../src/run/scribe.ts";
import { supervisionActors } from "../../src/run/supervision.actors.ts";
import { supervisionMachine } from "../../src/run/supervision.machine.ts";
import {
  heartbeatMs,
  soakHeartbeatMs,
  soakWatchEveryMs,
  watchEveryMs,
} from "../../src/run/timing.ts";
import { plateFallenCode, tripLimitsOf } from "../../src/run/trip-limits.ts";
import { type ModelledBench, openModelledBench } from "../../src/simulate/modelled-bench.ts";
import { steadyFixture } from "../simulate/steady-fixture.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";

const BOARD = "flasher-latch";
const LINE = "SET";
const CHANNELS = 4;
const SECONDS = 1800;
const SECONDS_FULL = 43_200;
const WARM_SECONDS = 120;
const SETTLE_US = 20_000;
const CYCLE_MS = 500;
/** Scans from feed to feed: some 100 ms. */
const FEED_EVERY = 50;
/** Of stepping with supervision beside it: 12 h in 29 s. */
const RATIO_MIN = 1500;

interface Table {
  readonly plan: Plan;
  readonly modelled: ModelledBench;
  readonly bench: ControllerBench;
  readonly journal: Journal;
  readonly exchanges: { count: number };
}

const JOBS = {
  "one exchange after the other": { job: exchange, ratioMin: null },
  "idle under a proof's supervision": { job: idleAsProof, ratioMin: null },
  "idle under a soak's supervision": { job: idleAsSoak, ratioMin: null },
  "stepping under a soak's supervision": { job: stepping, ratioMin: RATIO_MIN },
} as const;

export async function figure({ full, report }: FigureContext): Promise<void> {
  for (const name of Object.keys(JOBS) as (keyof typeof JOBS)[]) {
    const { ratioMin } = JOBS[name];
    const { ratio, exchanges, wallUs, processorUs } = await measured(
      name,
      full ? SECONDS_FULL : SECONDS,
    );
    report({
      name: `modelled bench, ${name}`,
      value: Math.round(ratio),
      unit: `virtual s a real s; ${exchanges} exchanges, ${wallUs.toFixed(1)} us each, ${processorUs.toFixed(1)} us of processor`,
      limit: ratioMin === null ? "told, not limited" : `>= ${ratioMin}`,
      holds: ratioMin === null || ratio >= ratioMin,
    });
  }
}

export async function measured(name: keyof typeof JOBS, seconds: number) {
  const { job } = JOBS[name];
  const folder = mkdtempSync(join(tmpdir(), "holdfast-modelled-"));
  try {
    const table = await laid(folder);
    // Once without the watch, so that the measured time is that of compiled code.
    await job(table, WARM_SECONDS);
    const { clock } = table.modelled;
    const before = { sent: table.exchanges.count, ms: clock.nowMs(), cpu: process.cpuUsage() };
    const begun = performance.now();
    await job(table, seconds);
    const wallMs = performance.now() - begun;
    const { user, system } = process.cpuUsage(before.cpu);
    const exchanges = table.exchanges.count - before.sent;
    const ratio = (clock.nowMs() - before.ms) / wallMs;
    table.journal.close();
    await table.bench.close();
    table.modelled.dispose();
    return {
      ratio,
      exchanges,
      wallUs: (1000 * wallMs) / exchanges,
      processorUs: (user + system) / exchanges,
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A bench with every rail up, its trips armed and its journal on the disk. */
async function laid(folder: string): Promise<Table> {
  const { plan } = await shippedProof(BOARD);
  const modelled = openModelledBench({ fixture: steadyFixture(plan), paceRatio: null });
  const { clock, port } = modelled;
  const exchanges = { count: 0 };
  const bench = await connectController({
    port,
    clock,
    wiring: wiringOfPlan(plan),
    trace: (direction) => {
      if (direction === "sent") exchanges.count += 1;
    },
  });
  const journal = openJournal({ path: join(folder, "j"), clock, startMs: clock.nowMs() });
  await bench.clearTrip();
  for (const rail of plan.rails) {
    await bench.feed((await bench.scanRails()).scan);
    if (rail.rail === "plate") await bench.setPlateFallenCode(plateFallenCode(rail, plan));
    if (rail.rail === "plate") await bench.armTrips(true);
    await bench.switchRail(rail.rail, true);
    await clock.delay(50);
    await bench.setTripLimits(tripLimitsOf(rail, plan));
  }
  return { plan, modelled, bench, journal, exchanges };
}

/** Rails are scanned as fast as answers come. */
async function exchange({ bench, modelled: { clock } }: Table, seconds: number): Promise<void> {
  const untilMs = clock.nowMs() + 100 * seconds;
  for (let exchanges = 0; clock.nowMs() < untilMs; exchanges += 1) {
    const { scan } = await bench.scanRails();
    if (exchanges % FEED_EVERY === 0) await bench.feed(scan);
  }
}

const AS_PROOF = { heartbeatMs, watchEveryMs };
const AS_SOAK = { heartbeatMs: soakHeartbeatMs, watchEveryMs: soakWatchEveryMs };

async function idleAsProof(table: Table, seconds: number): Promise<void> {
  const { clock } = table.modelled;
  await supervised(table, AS_PROOF, () => clock.delay(1000 * seconds));
}

async function idleAsSoak(table: Table, seconds: number): Promise<void> {
  const { clock } = table.modelled;
  await supervised(table, AS_SOAK, () => clock.delay(1000 * seconds));
}

async function stepping(table: Table, seconds: number): Promise<void> {
  const { bench, modelled, plan } = table;
  const { clock } = modelled;
  const timed = await bench.timed();
  const channels = plan.channels
    .filter(({ reads }) => reads.kind === "net" || reads.kind === "line")
    .slice(0, CHANNELS)
    .map(({ name }) => name);
  await supervised(table, AS_SOAK, async () => {
    const beganMs = clock.nowMs();
    for (let cycle = 0; cycle < (1000 * seconds) / CYCLE_MS; cycle += 1) {
      const level = cycle % 2 === 0 ? "high" : "low";
      const read = await timed.step({ levels: { [LINE]: level }, settleUs: SETTLE_US }, channels);
      const [first] = read;
      if (first === undefined || first.sum > 800 !== (level === "high")) {
        throw new Error(`cycle ${cycle} read ${JSON.stringify(read)}`);
      }
      await clock.delay(beganMs + (cycle + 1) * CYCLE_MS - clock.nowMs());
    }
  });
}

/** The run's own supervision beside the work, and its rails looked at and written down. */
async function supervised(
  table: Table,
  pace: { readonly heartbeatMs: number; readonly watchEveryMs: number },
  work: () => Promise<void>,
): Promise<void> {
  const { bench, journal, modelled, plan } = table;
  const { clock } = modelled;
  const scribe = new Scribe(journal, (fault) => {
    throw fault;
  });
  const parts = createRunParts({ plan, bench, clock, scribe, block: null, ...pace });
  for (const { rail } of plan.rails) parts.rails.takeOver(rail, { onSinceMs: 0, atMs: 0 });
  const actor = createActor(supervisionMachine.provide({ actors: supervisionActors(parts) }), {
    clock,
  });
  actor.subscribe({ error: (error) => process.stderr.write(`${String(error)}\n`) });
  actor.start();
  await work();
  if (actor.getSnapshot().status !== "active") {
    throw new Error(`supervision ended: ${JSON.stringify(actor.getSnapshot().output)}`);
  }
  actor.stop();
  await bench.feed((await bench.scanRails()).scan);
}
