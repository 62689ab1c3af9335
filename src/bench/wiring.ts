/** Names of rails, lines and channels against the numbers the controller knows them by. */
import type { DrivenLevel, RailName } from "../events/levels.ts";
import type { Plan } from "../events/plan.ts";

export interface WiredRail {
  readonly output: number;
  readonly sourceChannel: number;
  readonly boardChannel: number;
}

interface WiredLine {
  readonly output: number;
  /** Level of the line while its relay is released; for a load, `low`: not connected. */
  readonly releasedLevel: DrivenLevel;
  /** What its driver takes to operate or release. */
  readonly driverUs: number;
}

export interface ControllerWiring {
  /** Name of the rig, against what the controller keeps of its own; null where nothing is held to it. */
  readonly rig: string | null;
  readonly rails: ReadonlyMap<RailName, WiredRail>;
  readonly lines: ReadonlyMap<string, WiredLine>;
  readonly channels: ReadonlyMap<string, number>;
  /** Time constant at the pin of each channel, where the plan knows it. */
  readonly filterUs: ReadonlyMap<string, number>;
}

/** Of whoever only wants to know who is there. */
export const noWiring: ControllerWiring = {
  rig: null,
  rails: new Map(),
  lines: new Map(),
  channels: new Map(),
  filterUs: new Map(),
};

/** Of a driver that an older plan does not name. */
const DRIVER_MS = 10;

/**
 * The wiring a plan assumes.
 *
 * @throws Error when the plan names a rail channel it does not list: a mistake of the planner
 */
export function wiringOfPlan(plan: Plan): ControllerWiring {
  const channels = new Map(plan.channels.map((channel) => [channel.name, channel.number]));
  const numberOf = (name: string): number => {
    const number = channels.get(name);
    if (number === undefined) throw new Error(`The plan lists no channel "${name}".`);
    return number;
  };
  return {
    rig: plan.rig.name,
    channels,
    filterUs: new Map(
      plan.channels.flatMap(({ name, filterUs }) =>
        filterUs === undefined ? [] : [[name, filterUs] as const],
      ),
    ),
    rails: new Map(
      plan.rails.map((rail) => [
        rail.rail,
        {
          output: rail.output,
          sourceChannel: numberOf(rail.sourceChannel),
          boardChannel: numberOf(rail.boardChannel),
        },
      ]),
    ),
    lines: wiredLines(plan),
  };
}

/** Lines, and the trigger beside them: it too is switched by name. */
function wiredLines({ lines, trigger }: Plan): Map<string, WiredLine> {
  const wired = new Map<string, WiredLine>();
  for (const { line, output, releasedLevel, driverMs = DRIVER_MS } of lines) {
    wired.set(line, { output, releasedLevel: releasedLevel ?? "low", driverUs: 1000 * driverMs });
  }
  if (trigger !== undefined) {
    // Straight from the pin to an oscilloscope.
    wired.set(trigger.line, { output: trigger.output, releasedLevel: "low", driverUs: 0 });
  }
  return wired;
}

/** The controller's own wiring, as `SYSTem:WIRing?` answers it. */
export interface ControllerWiringAnswer {
  readonly rails: ReadonlyMap<string, WiredRail>;
  readonly polarity: string;
}

/** Read `HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;HIGH`; null when it has another shape. */
export function readWiringAnswer(answer: string): ControllerWiringAnswer | null {
  const parts = answer.split(";");
  const polarity = parts.pop();
  if (polarity === undefined || parts.length === 0) return null;
  const rails = new Map<string, WiredRail>();
  for (const part of parts) {
    const [, name, output, source, board] = /^([A-Za-z]+),(\d+),(\d+),(\d+)$/.exec(part) ?? [];
    if (name === undefined) return null;
    rails.set(name.toLowerCase(), {
      output: Number(output),
      sourceChannel: Number(source),
      boardChannel: Number(board),
    });
  }
  return { rails, polarity };
}

/** Every point in which the plan and the controller disagree, as sentences; none when they agree. */
export function wiringDifferences(
  assumed: ControllerWiring,
  actual: ControllerWiringAnswer,
): string[] {
  const differences: string[] = [];
  if (actual.polarity !== "HIGH") {
    differences.push(`outputs are expected active HIGH, the controller says ${actual.polarity}`);
  }
  const railOutputs = new Set([...actual.rails.values()].map((rail) => rail.output));
  for (const [name, rail] of assumed.rails) {
    const found = actual.rails.get(name);
    if (found === undefined) {
      differences.push(`the plan uses a ${name} rail, the controller has none`);
      continue;
    }
    compare(differences, `${name} output`, rail.output, found.output);
    compare(differences, `${name} source channel`, rail.sourceChannel, found.sourceChannel);
    compare(differences, `${name} board channel`, rail.boardChannel, found.boardChannel);
  }
  for (const [name, line] of assumed.lines) {
    if (railOutputs.has(line.output)) {
      differences.push(`line ${name} is planned on output ${line.output}, which drives a rail`);
    }
  }
  return differences;
}

function compare(differences: string[], what: string, planned: number, actual: number): void {
  if (planned !== actual) {
    differences.push(`${what} is ${planned} in the plan and ${actual} in the controller`);
  }
}
