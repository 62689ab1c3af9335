/** Hand mode, freeze and standby in words, for the log and for plain lines. */
import type { RunEvent } from "../events/events.ts";
import type { Plan } from "../events/plan.ts";
import type { ByPersonEvent } from "./fold-by-person.ts";
import type { LogLine } from "./snapshot.ts";

/** What such an event says. */
export function byPersonLine(event: ByPersonEvent, plan: Plan | null): Omit<LogLine, "ms"> {
  switch (event.kind) {
    case "hand-begun":
      return say(`the lines are yours for ${minutesText(event.limitMs)} at most`);
    case "frozen":
      return say(
        `frozen at ${stepText(event.step, plan)} with power ON, for ${minutesText(event.limitMs)} at most` +
          `${event.trigger === null ? "" : `; ${event.trigger} rises at each turn`}`,
        "warning",
      );
    case "freeze-loop":
      return say(
        event.to === null
          ? "the loop stands still"
          : `looping ${stepText(event.from, plan)} and ${stepText(event.to, plan)}`,
      );
    case "freeze-turn":
      return say(`turn ${event.turn}, ${stepText(event.step, plan)}: ${event.result}`);
    case "thawed":
      return say(`no longer frozen: ${event.why}`);
    case "standby-begun":
      return say(
        `standby: plate and bias proved off, heaters kept ON for ${minutesText(event.limitMs)} at most`,
        "warning",
      );
    case "standby-ended":
      return say(`standby over: ${event.why}`);
  }
}

/** Whether an event is one of hand mode, freeze or standby. */
export function isByPerson(event: RunEvent): event is ByPersonEvent {
  return BY_PERSON.has(event.kind);
}

const BY_PERSON: ReadonlySet<RunEvent["kind"]> = new Set<ByPersonEvent["kind"]>([
  "hand-begun",
  "frozen",
  "freeze-loop",
  "freeze-turn",
  "thawed",
  "standby-begun",
  "standby-ended",
]);

function say(text: string, weight: LogLine["weight"] = "info"): Omit<LogLine, "ms"> {
  return { text, weight };
}

function stepText(step: number, plan: Plan | null): string {
  const name = plan?.steps[step]?.name;
  return name === undefined ? `step ${step + 1}` : `step ${step + 1} "${name}"`;
}

function minutesText(ms: number): string {
  return ms % 60_000 === 0 ? `${ms / 60_000} min` : `${Math.round(ms / 1000)} s`;
}
