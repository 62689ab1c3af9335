/** The work behind the power machine: measure, set limits, switch, watch a rail come up. */
import type { ChannelReading, Phase } from "../events/events.ts";
import type { RailName } from "../events/levels.ts";
import type { Plan, PlannedRail } from "../events/plan.ts";
import { voltsPerCode } from "../measure/divider.ts";
import { openLeadV } from "../measure/divider-facts.ts";
import { readingText } from "../measure/reading-text.ts";
import { currentFault } from "./current-watch.ts";
import { within } from "./deadline.ts";
import { ending, RunFault } from "./ending.ts";
import { raiseRail } from "./hands.ts";
import { releasedLevels } from "./line-book.ts";
import { readChannels } from "./look.ts";
import type { Gate } from "./machine-words.ts";
import type { RailInput } from "./power.machine.ts";
import { isBeyondCeiling, isInWindow } from "./rail-book.ts";
import { windowText } from "./rail-checks.ts";
import type { RunParts } from "./run-parts.ts";
import { swingOfSupply } from "./supply-ripple.ts";
import {
  benchDeadlineMs,
  gatePollMs,
  heartbeatMs,
  stateDeadlineMs,
  surveyMsMax,
} from "./timing.ts";
import { channelNamed, plateFallenCode, tripLimitsOf } from "./trip-limits.ts";
import { worker } from "./worker.ts";

const phaseOf: Readonly<Record<RailName, Phase>> = {
  heater: "heating",
  bias: "raising bias",
  plate: "raising plate",
};

export function powerActors(parts: RunParts) {
  const { plan, rails } = parts;
  const longest = (of: (rail: PlannedRail) => number) => Math.max(...plan.rails.map(of));
  return {
    checkSupplies: worker<undefined, Gate>(parts, {
      name: "checking the supplies",
      limitMs: longest(({ fallMsMax }) => fallMsMax) + 2 * benchDeadlineMs + surveyMs(parts),
      run: (_, signal) => checkSupplies(parts, signal),
    }),
    measureSource: worker<RailInput, Gate>(parts, {
      name: "measuring a supply",
      run: ({ rail }) => measureSource(railNamed(rail, parts), parts),
    }),
    setTrips: worker<RailInput, void>(parts, {
      name: "setting trip limits",
      run: ({ rail }) => setTrips(railNamed(rail, parts), parts),
    }),
    waitForHeaters: worker<undefined, void>(parts, {
      name: "waiting for the heaters",
      limitMs: plan.warmUp.heaterBeforePlateMs + stateDeadlineMs,
      run: (_, signal) => waitForHeaters(parts, signal),
    }),
    checkBias: worker<undefined, Gate>(parts, {
      name: "checking bias",
      run: () => checkBias(parts),
    }),
    armTrips: worker<undefined, void>(parts, {
      name: "arming the trips",
      run: () => armTrips(parts),
    }),
    switchOn: worker<RailInput, void>(parts, {
      name: "switching a rail on",
      run: async ({ rail }) => {
        parts.scribe.phase(phaseOf[rail]);
        await raiseRail(rail, parts);
        await parts.survey?.railClosing(railNamed(rail, parts), parts);
      },
    }),
    watchRise: worker<RailInput, Gate>(parts, {
      name: "watching a rail rise",
      limitMs: longest(({ riseMsMax }) => riseMsMax) + 2 * benchDeadlineMs,
      run: async ({ rail }, signal) => {
        const gate = await watchRise(railNamed(rail, parts), parts, signal);
        await parts.survey?.railRaised(parts);
        if (!gate.open) return gate;
        const drawn = await checkCurrent(railNamed(rail, parts), parts);
        if (drawn.open) rails.gatePassed(rail);
        return drawn;
      },
    }),
  };
}

/** What a look at the rig itself may take before anything is switched. */
function surveyMs({ survey }: RunParts): number {
  return survey === null ? 0 : surveyMsMax;
}

const open: Gate = { open: true };

/** `net` is the rail channel at which the supply was refused. */
function refused(detail: string, fault: { readonly code: string; readonly net: string }): Gate {
  return { open: false, ending: ending("supply refused", detail, fault) };
}

/** Every supply at its source, and nothing on the board yet, before anything is switched. */
async function checkSupplies(parts: RunParts, signal: AbortSignal): Promise<Gate> {
  const { bench, clock, plan, rails, scribe } = parts;
  scribe.phase("checking supplies");
  const ask = (what: string, work: Promise<void>) =>
    within({ clock, limitMs: benchDeadlineMs, what }, work);
  await ask("the trips to be disarmed", bench.armTrips(false));
  // With an output on, a trip cannot be cleared; one that is latched refuses the next order instead.
  const isTakenOver = plan.rails.some(({ rail }) => rails.takenOverFromMs(rail) !== null);
  if (!isTakenOver) await ask("an old trip to be cleared", bench.clearTrip());
  await ask("the lines to be released", bench.setLines(releasedLevels(plan)));
  await parts.survey?.begin(parts, signal);
  for (const rail of plan.rails) {
    signal.throwIfAborted();
    const swing = await swingOfSupply(rail, parts);
    if (swing !== null) return { open: false, ending: swing };
    const reading = await readOne(rail.sourceChannel, parts);
    const gate = judgeSource(rail, reading, plan);
    if (gate.open) continue;
    // One that is good is measured again, and written down, right before it is switched.
    writeGate({ gate: "source", rail, reading, open: false, waitedMs: 0 }, parts);
    return gate;
  }
  for (const rail of plan.rails) {
    if (rails.takenOverFromMs(rail.rail) !== null) continue;
    const gate = await waitUntilClear(rail, parts, signal);
    if (!gate.open) return gate;
  }
  return (await parts.survey?.beforeEnergising(parts, signal)) ?? open;
}

/**
 * The board side may not be live before its relay is switched: a welded contact, exchanged leads or
 * an open one on an offset divider would show here. What an earlier run left may bleed off first.
 */
async function waitUntilClear(
  rail: PlannedRail,
  parts: RunParts,
  signal: AbortSignal,
): Promise<Gate> {
  const { clock, plan } = parts;
  const startMs = clock.nowMs();
  while (true) {
    const reading = await readOne(rail.boardChannel, parts);
    if (isClear(reading, rail, parts.rig.plan)) return open;
    if (clock.nowMs() - startMs >= rail.fallMsMax) {
      return refused(
        `${rail.boardChannel} reads ${readingText(reading, plan)} before its relay is switched, expected at most ` +
          `${rail.safeV} V. Look for a welded contact, exchanged leads or an open lead.`,
        { code: "board-side-live", net: rail.boardChannel },
      );
    }
    await clock.delay(heartbeatMs, signal);
  }
}

/** How far an unloaded offset divider may read from its own rest, converter steps. */
const EMPTY_REST_STEPS = 8;

/** Zero on a lead not proved yet is what an idle board side reads. */
function isClear({ noReading, volts }: ChannelReading, rail: PlannedRail, plan: Plan): boolean {
  if (volts === null) return noReading === "lead not proved";
  if (Math.abs(volts) <= rail.safeV) return true;
  if (plan.connector !== "empty") return false;
  // With nothing on the connector an offset divider lifts the rail by itself, through its own ohms.
  const { divider, referenceV } = channelNamed(rail.boardChannel, plan);
  const restV = openLeadV(divider, referenceV);
  return Math.abs(volts - restV) <= EMPTY_REST_STEPS * voltsPerCode(divider, referenceV);
}

async function measureSource(rail: PlannedRail, parts: RunParts): Promise<Gate> {
  const reading = await readOne(rail.sourceChannel, parts);
  const gate = judgeSource(rail, reading, parts.plan);
  writeGate({ gate: "source", rail, reading, open: gate.open, waitedMs: 0 }, parts);
  return gate;
}

function judgeSource(rail: PlannedRail, reading: ChannelReading, plan: Plan): Gate {
  const net = rail.sourceChannel;
  if (reading.volts !== null && isInWindow(reading.volts, rail)) {
    return isBeyondCeiling(reading.volts, rail)
      ? refused(
          `${net} reads ${readingText(reading, plan)}, beyond the ceiling of ${rail.ceilingV} V.`,
          { code: "ceiling-exceeded", net },
        )
      : open;
  }
  return refused(
    `${net} reads ${readingText(reading, plan)}, expected ${windowText(rail)} before ${rail.rail} is ` +
      "switched. Set the supply, or check its leads and its divider.",
    { code: "supply-out-of-window", net },
  );
}

async function setTrips(rail: PlannedRail, parts: RunParts): Promise<void> {
  const { bench, clock } = parts;
  const what = `trip limits of ${rail.rail} to be set`;
  const limits = tripLimitsOf(rail, parts.rig.plan);
  await within({ clock, limitMs: benchDeadlineMs, what }, bench.setTripLimits(limits));
  if (rail.rail !== "plate") return;
  const fallen = plateFallenCode(rail, parts.rig.plan);
  await within({ clock, limitMs: benchDeadlineMs, what }, bench.setPlateFallenCode(fallen));
}

async function waitForHeaters(parts: RunParts, signal: AbortSignal): Promise<void> {
  const { clock, plan, rails, scribe } = parts;
  const onMs = rails.onSinceMs("heater") ?? clock.nowMs();
  const leftMs = onMs + plan.warmUp.heaterBeforePlateMs - clock.nowMs();
  if (leftMs <= 0) return;
  scribe.phase("heating");
  await clock.delay(leftMs, signal);
}

/** Plate may follow only a bias that measures inside its window right now, where one is declared. */
async function checkBias(parts: RunParts): Promise<Gate> {
  const bias = parts.plan.rails.find(({ rail }) => rail === "bias");
  if (bias === undefined) return open;
  const reading = await readOne(bias.boardChannel, parts);
  const isGood =
    parts.rails.state("bias") === "raised" &&
    reading.volts !== null &&
    isInWindow(reading.volts, bias);
  writeGate({ gate: "board", rail: bias, reading, open: isGood, waitedMs: 0 }, parts);
  return isGood
    ? open
    : refused(
        `bias reads ${readingText(reading, parts.plan)} at the board, expected ${windowText(bias)} before plate is switched.`,
        { code: "bias-not-in-window", net: bias.boardChannel },
      );
}

async function armTrips(parts: RunParts): Promise<void> {
  const { bench, clock, latch, scribe } = parts;
  latch.assertOpen("arming the trips for plate");
  await within(
    { clock, limitMs: benchDeadlineMs, what: "the trips to be armed" },
    bench.armTrips(true),
  );
  scribe.write({ kind: "trips-armed", armed: true });
}

/** Wait for two looks in a row inside the window: one alone may be a bounce of the relay. */
async function watchRise(rail: PlannedRail, parts: RunParts, signal: AbortSignal): Promise<Gate> {
  const { clock, rails } = parts;
  const orderedMs = rails.takenOverFromMs(rail.rail) === null ? rails.orderedOnMs(rail.rail) : null;
  const startMs = orderedMs ?? clock.nowMs();
  let good = 0;
  while (true) {
    const reading = await readOne(rail.boardChannel, parts);
    signal.throwIfAborted();
    const waitedMs = Math.round(clock.nowMs() - startMs);
    const { volts } = reading;
    const beyond =
      reading.noReading === "clipped" || (volts !== null && isBeyondCeiling(volts, rail));
    good = volts !== null && isInWindow(volts, rail) ? good + 1 : 0;
    const late = waitedMs >= rail.riseMsMax && good === 0;
    if (good >= 2 || beyond || late) {
      const isUp = good >= 2;
      writeGate({ gate: "board", rail, reading, open: isUp, waitedMs }, parts);
      return isUp ? open : roseWrongly({ rail, reading, waitedMs }, parts.plan);
    }
    await clock.delay(gatePollMs, signal);
  }
}

/** Heaters that draw nothing are not there, whatever their rail reads: nothing else may follow. */
async function checkCurrent(rail: PlannedRail, parts: RunParts): Promise<Gate> {
  const { current } = rail;
  if (current === undefined || rail.rail !== "heater") return open;
  const reading = await readOne(current.channel, parts);
  const why = currentFault({ rail, current }, reading, "beyond range");
  return why === null
    ? open
    : refused(why.detail, { code: "current-out-of-limits", net: current.channel });
}

function roseWrongly(
  { rail, reading, waitedMs }: Pick<GateLook, "rail" | "reading" | "waitedMs">,
  plan: Plan,
): Gate {
  return refused(
    `${rail.boardChannel} reads ${readingText(reading, plan)} ${waitedMs} ms after ${rail.rail} was switched on, ` +
      `expected ${windowText(rail)} within ${rail.riseMsMax} ms. Check the relay, its fuse and the board-side lead.`,
    { code: "rail-did-not-rise", net: rail.boardChannel },
  );
}

interface GateLook {
  readonly gate: "source" | "board";
  readonly rail: PlannedRail;
  readonly reading: ChannelReading;
  readonly open: boolean;
  readonly waitedMs: number;
}

function writeGate({ rail, ...look }: GateLook, { scribe }: RunParts): void {
  const { lowV, highV } = rail.window;
  scribe.write({ kind: "gate", ...look, rail: rail.rail, lowV, highV });
}

async function readOne(channel: string, parts: RunParts): Promise<ChannelReading> {
  const [reading] = await readChannels([channel], parts);
  if (reading === undefined) {
    throw new RunFault("plan-inconsistent", `Expected one reading of ${channel}, got none.`);
  }
  return reading;
}

function railNamed(name: RailName, { plan }: RunParts): PlannedRail {
  const rail = plan.rails.find((one) => one.rail === name);
  if (rail === undefined) {
    throw new RunFault("plan-inconsistent", `Expected rail ${name} in the plan, it has none.`);
  }
  return rail;
}
