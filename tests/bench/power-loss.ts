/**
 * The controller loses its power, or browns out, at moments that a seed decides: while rails are switched on, while
 * tubes warm, while lines move. Judged from the true volts on the board: plate may not outlast bias.
 */
import { connectController } from "../../src/bench/connect-controller.ts";
import { wiringOfPlan } from "../../src/bench/wiring.ts";
import { firmwareText } from "../../src/commands/emulated-fixture.ts";
import type { Plan, PlannedRail } from "../../src/events/plan.ts";
import { tripLimitsOf } from "../../src/run/trip-limits.ts";
import { type EmulatedBench, openEmulatedBench } from "../../src/simulate/emulated-bench.ts";
import { createFixture } from "../../src/simulate/fixture/create-fixture.ts";
import { shippedProof } from "./emulated-run.ts";
import type { FigureContext } from "./figure.ts";
import { seededChance } from "./seeded-chance.ts";

const BOARDS = ["flasher-latch", "fog-divider", "sector-latch", "watch-adder", "blast-ring"];
const MOMENTS = 200;
const MOMENTS_FULL = 1000;
/** The same with this much of the bias reservoirs: what the figure would look like if it did not hold. */
const STARVED = { moments: 10, share: 0.05 };
/** From plate on: with cold tubes, which hold plate up longest, and with warm ones. */
const LATEST_MS = { cold: 400, warm: 16_000 };
const WATCH_MS = 4000;
const FEED_EVERY_MS = 100;
const SPREAD = { partsFraction: 0.05, tubesFraction: 0.15 };
/** Between rails, as the run waits for each. */
const RAIL_WAIT_MS = 800;

export async function figure({ full, report, say }: FigureContext): Promise<void> {
  const moments = full ? MOMENTS_FULL : MOMENTS;
  const chance = seededChance("power-loss");
  let kept = 0;
  let leastShare = Number.POSITIVE_INFINITY;
  let longestMs = 0;
  for (let at = 0; at < moments; at += 1) {
    const board = BOARDS[at % BOARDS.length] ?? "";
    const how = chance() < 0.5 ? "power cut" : "brown-out";
    const latestMs = at % 3 === 0 ? LATEST_MS.warm : LATEST_MS.cold;
    const afterMs = latestMs * chance();
    const fall = await fallAfter(board, { seed: at, how, afterMs, biasReservoir: 1 });
    leastShare = Math.min(leastShare, fall.biasShare);
    longestMs = Math.max(longestMs, fall.plateMs);
    if (fall.biasShare >= 1) kept += 1;
    else say(`${board}, seed ${at}, ${how}: bias at ${(100 * fall.biasShare).toFixed(1)} %`);
  }
  report({
    name: "power-loss plate fallen before bias has left its window",
    value: Math.round((1000 * kept) / moments) / 10,
    unit: `% of ${moments} power cuts and brown-outs on ${BOARDS.length} boards, parts +-5 %, tubes +-15 %; the least bias was ${leastShare.toFixed(3)} of the near edge of its window, plate safe after ${Math.round(longestMs)} ms at most`,
    limit: "= 100",
    holds: kept === moments,
  });
  let lost = 0;
  for (let seed = 0; seed < STARVED.moments; seed += 1) {
    const board = BOARDS[seed % BOARDS.length] ?? "";
    const asked = { seed, how: "power cut", afterMs: 300, biasReservoir: STARVED.share } as const;
    if ((await fallAfter(board, asked)).biasShare < 1) lost += 1;
  }
  report({
    name: "power-loss seen to fail with a twentieth of the bias reservoir",
    value: lost,
    unit: `of ${STARVED.moments}`,
    limit: `= ${STARVED.moments}`,
    holds: lost === STARVED.moments,
  });
}

interface Fall {
  /** Least bias while plate was above its safe volts, over the near edge of the bias window. */
  readonly biasShare: number;
  /** From the loss until plate was safe for good. */
  readonly plateMs: number;
}

async function fallAfter(
  board: string,
  asked: {
    readonly seed: number;
    readonly how: "power cut" | "brown-out";
    readonly afterMs: number;
    readonly biasReservoir: number;
  },
): Promise<Fall> {
  const { seed, how, afterMs } = asked;
  const { circuit, rig, plan } = await shippedProof(board);
  if (circuit === null) throw new Error(`${board} has no circuit`);
  const parts = circuit.parts.map((part) =>
    part.kind === "capacitor" && part.from === "bias"
      ? { ...part, farad: part.farad * asked.biasReservoir }
      : part,
  );
  const fixture = createFixture({
    circuit: { ...circuit, parts },
    rig,
    seed,
    changes: [],
    spread: SPREAD,
  });
  const emulated = openEmulatedBench({ fixture, hexText: firmwareText(), seed });
  try {
    await energise(emulated, plan, afterMs);
    const volts: { ms: number; bias: number; plate: number }[] = [];
    emulated.log((entry) => {
      if (entry.kind !== "volts") return;
      volts.push({ ms: entry.ms, bias: entry.rails.bias, plate: entry.rails.plate });
    });
    const fromMs = emulated.clock.nowMs();
    if (how === "power cut") emulated.controls.cutSupply();
    else emulated.controls.reset("BOR");
    await emulated.clock.delay(WATCH_MS);
    const plate = railOf(plan, "plate");
    const { lowV, highV } = railOf(plan, "bias").window;
    const edgeV = Math.min(Math.abs(lowV), Math.abs(highV));
    const live = volts.filter((one) => Math.abs(one.plate) > plate.safeV);
    const shares = live.map(({ bias }) => Math.abs(bias) / edgeV);
    return {
      biasShare: Math.min(...shares, Number.POSITIVE_INFINITY),
      plateMs: (live.at(-1)?.ms ?? fromMs) - fromMs,
    };
  } finally {
    emulated.dispose();
  }
}

/** Rails on in order as a run switches them, lines moving, the dead-man fed, for so long after plate. */
async function energise(emulated: EmulatedBench, plan: Plan, afterMs: number): Promise<void> {
  const { clock, port } = emulated;
  const bench = await connectController({ port, clock, wiring: wiringOfPlan(plan) });
  let line = 0;
  const feedFor = async (ms: number, moves: boolean): Promise<void> => {
    for (const untilMs = clock.nowMs() + ms; clock.nowMs() < untilMs; ) {
      const { scan } = await bench.scanRails();
      await bench.feed(scan);
      const name = plan.lines[line % plan.lines.length]?.line;
      if (moves && name !== undefined) await bench.setLines({ [name]: "high" });
      line += 1;
      await clock.delay(Math.max(0, Math.min(FEED_EVERY_MS, untilMs - clock.nowMs())));
    }
  };
  await bench.switchRail("heater", true);
  await feedFor(RAIL_WAIT_MS, false);
  await bench.switchRail("bias", true);
  await feedFor(RAIL_WAIT_MS, false);
  await bench.setTripLimits(plan.rails.flatMap((rail) => tripLimitsOf(rail, plan)));
  await bench.armTrips(true);
  await bench.switchRail("plate", true);
  await feedFor(afterMs, true);
}

function railOf({ rails }: Plan, name: PlannedRail["rail"]): PlannedRail {
  const rail = rails.find((one) => one.rail === name);
  if (rail === undefined) throw new Error(`no ${name} rail`);
  return rail;
}
