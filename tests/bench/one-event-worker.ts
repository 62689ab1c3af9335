/** A night with one event at a seeded moment, judged against where it was put and not by what the run says of it. */
import type { RunEvent } from "../../src/events/events.ts";
import { NEIGHBOUR_CYCLES } from "../../src/events/soak.ts";
import type { Scenario } from "../../src/formats/scenario.schema.ts";
import { hash32 } from "../../src/simulate/circuit/seeded-random.ts";
import { scenarioWith } from "../simulate/quick/scenarios.ts";
import type { EventFound, EventNight } from "./one-event.ts";
import { serveJobs } from "./pool.ts";
import { type SoakJob, soakInMemory } from "./soak-in-memory.ts";

const BOARD = "flasher-latch";
const EVERY_MS = 500;
const HOUR_MS = 3_600_000;
/**
 * In the second and the fourth step of a cycle both inputs are released and the latch has only itself. A step
 * settles 60 ms; relays have moved within 15 ms of its beginning.
 */
const HOLDS = [
  { step: 1, net: "Q", fromMs: 78, toMs: 98 },
  { step: 3, net: "QN", fromMs: 202, toMs: 222 },
] as const;
const PULL_MS = 20;

serveJobs<EventNight, EventFound>(async ({ seed, cycles }) => {
  const random = (place: number) => hash32(seed, place, 0) / 2 ** 32;
  const firstMs = await firstCycleMs(seed);
  const target = 100 + Math.floor(random(0) * (cycles - 200));
  const hold = HOLDS[Math.floor(random(1) * HOLDS.length)] ?? HOLDS[0];
  const atMs = firstMs + target * EVERY_MS + hold.fromMs + random(2) * (hold.toMs - hold.fromMs);
  const scenario = scenarioOf(seed, { net: hold.net, atHours: atMs / HOUR_MS });
  const errors: Extract<RunEvent, { kind: "cycle-error" }>[] = [];
  const afters: Extract<RunEvent, { kind: "cycle-error-after" }>[] = [];
  let counts = { cycles: 0, wrong: 0 };
  const { end, openedMs } = await soakInMemory(job(seed, scenario, cycles), ({ event }) => {
    if (event.kind === "cycle-error") errors.push(event);
    if (event.kind === "cycle-error-after") afters.push(event);
    if (event.kind === "soak-tally") counts = event.counts;
  });
  const [error] = errors;
  const [after] = afters;
  const eventMs = atMs - openedMs;
  const checks: readonly (readonly [holds: boolean, wrong: string])[] = [
    [errors.length === 1, `${errors.length} errors kept`],
    [counts.wrong === 1, `${counts.wrong} cycles counted as wrong`],
    [counts.cycles === cycles, `${counts.cycles} cycles counted`],
    [end.verdict === "fail" && end.cause === "completed", `${end.verdict}, ${end.cause}`],
    [error?.step === hold.step, `step ${error?.step}, expected ${hold.step}`],
    [
      // Told at the end of its cycle, on the clock of the bench.
      error !== undefined && error.own.ms - eventMs > 0 && error.own.ms - eventMs < EVERY_MS,
      `told at ${error?.own.ms} ms, happened at ${eventMs} ms`,
    ],
    [error?.before.length === NEIGHBOUR_CYCLES, `${error?.before.length} cycles before it`],
    [after?.after.length === NEIGHBOUR_CYCLES, `${after?.after.length} cycles after it`],
    [error?.before.at(-1)?.cycle === (error?.cycle ?? 0) - 1, "a gap before it"],
    [after?.after[0]?.cycle === (error?.cycle ?? 0) + 1, "a gap after it"],
    [
      error?.rails.length === 3 && error.rails.every(({ volts }) => volts !== null),
      "rails missing",
    ],
    [error?.readings[0]?.result === "fail", "no failing reading in front"],
  ];
  return {
    cycles: counts.cycles,
    wrongs: checks.flatMap(([holds, wrong]) => (holds ? [] : [wrong])),
  };
});

/** When the first cycle after the first full set begins, on the bench's own clock: the same in every run of a seed. */
async function firstCycleMs(seed: number): Promise<number> {
  let setMs: number | null = null;
  const { openedMs } = await soakInMemory(job(seed, scenarioOf(seed, null), 3), (entry) => {
    if (entry.event.kind === "soak-readings") setMs ??= entry.ms;
  });
  if (setMs === null) throw new Error("No set was taken.");
  return openedMs + setMs;
}

function job(seed: number, scenario: Scenario, cycles: number): SoakJob {
  // Cycles alone, from the first set on: moments are counted in them.
  return {
    board: BOARD,
    seed,
    scenario,
    order: { cycles, everyMs: EVERY_MS, heaterLow: undefined },
  };
}

function scenarioOf(
  seed: number,
  pull: { readonly net: string; readonly atHours: number } | null,
): Scenario {
  if (pull === null) return scenarioWith("", seed);
  const { net, atHours } = pull;
  const glitch = `glitch: pull, net: ${net}, volts: 5, forMs: ${PULL_MS}, atHours: ${atHours}`;
  return scenarioWith(`glitches: [{ ${glitch} }]\n`, seed);
}
