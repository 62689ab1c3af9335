/** Everything a sequence can be told before it is run. */
import type { PlannedStep } from "../../events/plan.ts";
import type { StepAt } from "../expect/stops.ts";
import {
  bouncing,
  type ContactLine,
  neverHeld,
  readTooSoon,
  type WaitNeeded,
} from "./board-findings.ts";
import type { Finding } from "./finding.ts";
import {
  disagreeing,
  notPulling,
  pullingUnlike,
  racing,
  relying,
  repeating,
  type WalkFacts,
} from "./step-findings.ts";

export interface LintGiven extends WalkFacts {
  /** Steps of the pass and of the soak's cycle. */
  readonly pass: readonly StepAt[];
  readonly cycle: readonly StepAt[];
  readonly contacts: readonly ContactLine[];
  readonly needed: (step: PlannedStep) => WaitNeeded;
}

/** Every finding, once a place and reason, in the order of the rules. */
export function lintSequence(given: LintGiven): Finding[] {
  const { pass, cycle, contacts, needed } = given;
  const found = [
    ...disagreeing(given),
    ...racing(given),
    ...relying(given),
    ...notPulling(given),
    ...pullingUnlike(given),
    ...neverHeld(given, pass),
    ...bouncing(given, contacts),
    ...readTooSoon([...pass, ...cycle], needed),
    ...repeating(given),
  ];
  const byPlace = new Map<string, Finding>();
  for (const one of found) {
    const key = [one.rule, one.file, ...one.path].join("\0");
    if (!byPlace.has(key)) byPlace.set(key, one);
  }
  return [...byPlace.values()];
}
