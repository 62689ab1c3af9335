/** The exit status of a run that is read from its journal. */
import { type FoldedRun, unprovedFalls } from "../journal/account.ts";
import { type ExitStatus, exitStatusOf } from "./exit-status.ts";

/** @returns null for a run that is not closed */
export function closedStatus(run: FoldedRun): ExitStatus | null {
  const { cause, verdict, mode } = run;
  if (cause === null || verdict === null) return null;
  return exitStatusOf({ verdict, cause, mode, allProvedOff: unprovedFalls(run).length === 0 });
}
