/**
 * The work of a rig check once the rails are up: each line and load contact operated, read and released,
 * then nothing fed any more until the controller has switched off by itself.
 */
import type { DrivenLevel, RailName } from "../events/levels.ts";
import type { LineLevels, PlannedLine } from "../events/plan.ts";
import { within } from "./deadline.ts";
import { type Ending, ending } from "./ending.ts";
import { driveLines } from "./hands.ts";
import { understandScan } from "./look.ts";
import { contactsInOrder, type RigSurvey } from "./rig-survey.ts";
import type { RunParts } from "./run-parts.ts";
import {
  contactMsMax,
  deadManTestMs,
  heartbeatDeadlineMs,
  leastRestMs,
  stateDeadlineMs,
} from "./timing.ts";
import { worker } from "./worker.ts";

export function rigCheckActors(parts: RunParts) {
  const { plan, survey } = parts;
  return {
    walkRelays: worker<undefined, Ending | null>(parts, {
      name: "walking the relays",
      limitMs: stateDeadlineMs + plan.lines.length * contactMsMax,
      run: async (_, signal) => {
        if (survey !== null) await walkRelays(survey, parts, signal);
        return null;
      },
    }),
    testDeadMan: worker<undefined, Ending>(parts, {
      name: "testing the dead-man",
      limitMs: deadManTestMs,
      run: () => testDeadMan(parts),
    }),
  };
}

async function walkRelays(survey: RigSurvey, parts: RunParts, signal: AbortSignal): Promise<void> {
  const { plan, scribe } = parts;
  scribe.phase("walking the relays");
  await survey.look([], parts);
  for (const line of contactsInOrder(plan.lines)) {
    signal.throwIfAborted();
    await walkContact(line, survey, parts);
  }
}

async function walkContact(line: PlannedLine, survey: RigSurvey, parts: RunParts): Promise<void> {
  const feeder = feederOf(line, parts);
  if (feeder !== null) {
    await driveLines(operated(feeder), parts);
    await survey.look([feeder.line], parts);
  }
  const all = [...(feeder === null ? [] : [feeder.line]), line.line];
  const channel = line.load?.net ?? line.channel ?? line.line;
  await driveLines(operated(line), parts);
  await survey.contact({ contact: line.line, channel, move: "operate" }, parts);
  await survey.look(all, parts);
  await driveLines(released(line), parts);
  await survey.contact({ contact: line.line, channel, move: "release" }, parts);
  if (feeder !== null) await driveLines(released(feeder), parts);
}

/** A load shows only on a net that stands high: the line to operate for it, or null. */
function feederOf({ load }: PlannedLine, { plan }: RunParts): PlannedLine | null {
  if (load === undefined) return null;
  const joint = plan.loopback?.find(({ net }) => net === load.net);
  const line = plan.lines.find((one) => one.line === joint?.line);
  return line === undefined || line.releasedLevel === "high" ? null : line;
}

function operated({ line, releasedLevel }: PlannedLine): LineLevels {
  return { [line]: opposite(releasedLevel ?? "low") };
}

function released({ line, releasedLevel }: PlannedLine): LineLevels {
  return { [line]: releasedLevel ?? "low" };
}

function opposite(level: DrivenLevel): DrivenLevel {
  return level === "high" ? "low" : "high";
}

/**
 * Supervision has ended and feeds no more. Watch the rails until the controller has taken them off by
 * itself; the way to safe outputs follows whatever comes of it.
 */
async function testDeadMan(parts: RunParts): Promise<Ending> {
  const { bench, clock, fed, plan, rails, scribe, survey } = parts;
  scribe.phase("testing the dead-man");
  const fedMs = Math.max(fed.ms, 0);
  let firedAtMs: number | null = null;
  const forget = bench.onEvent((event) => {
    if (event.kind !== "dead-man" || firedAtMs !== null) return;
    firedAtMs = clock.nowMs();
    for (const { rail } of rails.on()) rails.orderOff(rail, firedAtMs);
  });
  const fallen = new Map<RailName, number>();
  const setMs = await bench.deadManMs?.();
  try {
    while (clock.nowMs() - fedMs < deadManTestMs - heartbeatDeadlineMs) {
      const deadline = { clock, limitMs: heartbeatDeadlineMs, what: "a rail scan" };
      const scan = await within(deadline, bench.scanRails());
      for (const { rail, board } of understandScan(scan, parts)) {
        const isOff = board.volts === null || !isNear(board.volts, rail.window);
        if (isOff && !fallen.has(rail.rail)) fallen.set(rail.rail, clock.nowMs() - fedMs);
      }
      if (fallen.size === plan.rails.length) break;
      await clock.delay(leastRestMs);
    }
  } finally {
    forget();
  }
  survey?.noteDeadMan({
    setMs: setMs ?? null,
    firedMs: firedAtMs === null ? null : firedAtMs - fedMs,
    falls: plan.rails
      .map(({ rail }) => ({ rail, afterMs: fallen.get(rail) ?? null }))
      .sort((a, b) => (a.afterMs ?? Infinity) - (b.afterMs ?? Infinity)),
  });
  return ending("completed", "every relay walked");
}

function isNear(volts: number, { lowV, highV }: { readonly lowV: number; readonly highV: number }) {
  return volts >= lowV && volts <= highV;
}
