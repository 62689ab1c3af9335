/** What a command of a modelled controller is, and what commands share. */
import type { Agenda } from "./agenda.ts";
import type { ParameterReader } from "./command-text.ts";
import type { KeptMemory } from "./kept-memory.ts";
import type { PowerSide } from "./power-side.ts";
import type { StatusSide } from "./status-side.ts";
import { assertLines, type TimedSide } from "./timed-side.ts";

/** A text at once (empty for a setting), or a question to ask again until it is no longer null. */
export type Answer = string | (() => string | null);

export interface Controller {
  readonly agenda: Agenda;
  readonly status: StatusSide;
  readonly power: PowerSide;
  readonly timed: TimedSide;
  readonly memory: KeptMemory;
  readonly cause: string;
  readonly bootedUs: number;
  readonly linkCounts: readonly number[];
  /** Whether an answer already stands in the line. */
  readonly messageAvailable: boolean;
  code(channel: number): number;
}

export type Handler = (controller: Controller, take: ParameterReader) => Answer;

/** Commands by their patterns, as PROTOCOL.md spells them. */
export type CommandTable = readonly (readonly [pattern: string, run: Handler])[];

export const CHANNELS = 22;
export const OUTPUTS = 8;

/** A command without parameters. */
export function bare(answer: (controller: Controller) => Answer): Handler {
  return (controller, take) => {
    take.end();
    return answer(controller);
  };
}

/** Answered when so many microseconds have passed. */
export function after({ agenda }: Controller, us: number, answer: () => string): Answer {
  const dueUs = agenda.nowUs + us;
  let done = false;
  agenda.after(us, () => {
    done = true;
  });
  return () => (done || agenda.nowUs >= dueUs ? answer() : null);
}

/** Mask and states of lines 4 to 8. */
export function lines(take: ParameterReader): [mask: number, states: number] {
  const mask = take.integer(0, 255);
  take.comma();
  const states = take.integer(0, 255);
  assertLines(mask);
  return [mask, states];
}

/** Lines may be closed, and nothing else has them or the converter. */
export function mayTime({ timed, power }: Controller): void {
  timed.assertLinesFree();
  power.assertMayClose();
}
