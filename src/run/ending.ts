/** Why a run ends, and how an error of any layer below becomes such a reason. */
import { type AnyBenchError, isBenchError } from "../bench/bench-error.ts";
import type { EndCause } from "../events/events.ts";
import { JournalFault } from "../journal/journal-fault.ts";

/** The reason a run ends for. `fault` goes into the journal when no other event tells of it. */
export interface Ending {
  readonly cause: EndCause;
  readonly detail: string;
  readonly fault: { readonly code: string; readonly net: string | null } | null;
}

export type RunFaultCode =
  | "no-progress"
  | "energising-closed"
  | "actor-not-provided"
  | "plan-inconsistent"
  | "rail-live"
  | "machine-failed";

/** An operating error of the run itself, or a mistake of the program that must end it safely. */
export class RunFault extends Error {
  readonly code: RunFaultCode;

  constructor(code: RunFaultCode, message: string, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.name = "RunFault";
    this.code = code;
  }
}

export function ending(cause: EndCause, detail: string, fault: Ending["fault"] = null): Ending {
  return { cause, detail, fault };
}

/** What an error thrown in the middle of a run means for the run. */
export function endingOf(error: unknown): Ending {
  if (isBenchError(error)) {
    return ending(causeOfBenchError(error), error.message, { code: error.code, net: null });
  }
  if (error instanceof JournalFault || error instanceof RunFault) {
    const cause = error instanceof JournalFault ? "journal fault" : "internal fault";
    return ending(cause, error.message, { code: error.code, net: null });
  }
  const message = error instanceof Error ? error.message : String(error);
  return ending("internal fault", message, { code: "unexpected-error", net: null });
}

/** Numbers of refusals that say more than "refused"; firmware-protocol/errors.csv. */
const causeByRefusal: ReadonlyMap<number, EndCause> = new Map([
  [101, "trip"],
  [102, "dead-man"],
  [103, "supply refused"],
  [104, "supply refused"],
  [105, "supply refused"],
]);

function causeOfBenchError(error: AnyBenchError): EndCause {
  switch (error.code) {
    case "refused":
      return causeByRefusal.get(error.facts.number) ?? "internal fault";
    case "controller-restarted":
      return "controller restarted";
    case "unknown-name":
    case "queue-full":
    case "overtaken":
      return "internal fault";
    default:
      return "link lost";
  }
}
