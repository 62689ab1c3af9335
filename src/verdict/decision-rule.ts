/**
 * From the room to a limit to a result, by the rule that was fixed before the run.
 *
 * Guarded: with U the expanded uncertainty for 95 % (JCGM 100) and the guard band w = U, four ways as in
 * ILAC-G8:09/2019, 4.2.3: pass at w or more inside the limit, conditional pass inside it, conditional
 * fail beyond it by no more than w, fail beyond that. Simple acceptance knows pass and fail, and U is
 * told beside it.
 */
import type { ResultClass } from "../events/levels.ts";
import type { PlannedRule } from "../events/plan.ts";

/** What a rule makes of a valid reading; void is no matter of the rule. */
export type RuledResult = Exclude<ResultClass, "void">;

/**
 * @param marginV   room to the limit, volts; negative is beyond it
 * @param expandedV U, volts; null where it is not evaluated
 * @returns null when the rule is guarded and U is not known: then there is no ground to judge
 */
export function ruledResult(
  marginV: number,
  expandedV: number | null,
  rule: PlannedRule | undefined,
): RuledResult | null {
  if (!isGuarded(rule)) return marginV < 0 ? "fail" : "pass";
  if (expandedV === null) return null;
  if (marginV >= expandedV) return "pass";
  if (marginV >= 0) return "conditional pass";
  return marginV >= -expandedV ? "conditional fail" : "fail";
}

/** A guarded rule without an evaluated uncertainty is refused by the plan and never gets here. */
function isGuarded(rule: PlannedRule | undefined): boolean {
  return rule?.name === "guarded" && rule.evaluated;
}

/** The rule as it is written into the journal before the run, and into the record. */
export function ruleText(rule: PlannedRule | undefined): string {
  if (rule === undefined || !rule.evaluated) return "simple acceptance; uncertainty not evaluated";
  if (rule.name === "simple") {
    return (
      "simple acceptance: a reading inside its limit passes; the expanded uncertainty U for 95 % is stated and not taken off. " +
      "Of nets that stand at the limit half would pass"
    );
  }
  return (
    "guarded by U, the expanded uncertainty for 95 % (JCGM 100), w = U (ILAC-G8:09/2019): pass at U or more inside the limit, " +
    "conditional pass inside it, conditional fail beyond it by U at most, fail beyond that. " +
    "Of nets that stand at or beyond the limit at most 2.5 % pass"
  );
}

/** Best first. A void hides what the board does, so it stands below even a fail. */
const BEST_FIRST: readonly ResultClass[] = [
  "pass",
  "conditional pass",
  "conditional fail",
  "fail",
  "void",
];

/** The worst of some results; pass for none. */
export function worstResult(results: readonly ResultClass[]): ResultClass {
  const worst = Math.max(0, ...results.map((one) => BEST_FIRST.indexOf(one)));
  return BEST_FIRST[worst] ?? "pass";
}

/** Whether a run goes on after this result: neither a fail nor a reading that is none. */
export function goesOn(result: ResultClass): boolean {
  return result !== "fail" && result !== "void";
}
