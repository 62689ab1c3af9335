/** How results of one net came out, in words. */
import type { ResultTotal } from "../acceptance-record.ts";

type Counts = Pick<
  ResultTotal,
  "count" | "passed" | "conditionallyPassed" | "conditionallyFailed" | "failed" | "voided"
>;

/** Whether any of them was worse than a conditional pass. */
export function isBad({
  conditionallyFailed,
  failed,
  voided,
}: Pick<Counts, "conditionallyFailed" | "failed" | "voided">): boolean {
  return conditionallyFailed + failed + voided > 0;
}

/** `496 passed` or `240 passed, 1 failed`. */
export function resultWords(counts: Counts): string {
  const parts = [
    [counts.passed, "passed"],
    [counts.conditionallyPassed, "conditionally passed"],
    [counts.conditionallyFailed, "conditionally failed"],
    [counts.failed, "failed"],
    [counts.voided, "void"],
  ] as const;
  const told = parts.filter(([count]) => count > 0).map(([count, word]) => `${count} ${word}`);
  return told.length === 0 ? "none judged" : told.join(", ");
}
