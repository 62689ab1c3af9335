/** What the program leaves behind as its exit status; part of its contract, listed in --help. */
import type { EndCause, RunMode } from "../events/events.ts";
import type { Verdict } from "../events/levels.ts";

export const EXIT = {
  pass: 0,
  notPass: 1,
  wrongUsage: 2,
  trouble: 3,
  stopped: 4,
  notSealed: 5,
  unknownKey: 6,
  wrongKey: 7,
  fileMissing: 8,
  fileExtra: 9,
  journalBroken: 10,
  newerFormat: 11,
} as const;

export type ExitStatus = (typeof EXIT)[keyof typeof EXIT];

export const EXIT_STATUS_HELP = `Exit status:
  0  pass; from hand mode: ended as wished, everything proved off; from rig-check: the rig is fit
  1  not a pass: fail, or not every step was tested; a rig that is not fit
  2  wrong usage, or a file that cannot be used
  3  void, or trouble with bench, controller, journal or program
  4  stopped by the person or by a signal
  verify only: 1 something was changed; 5 not sealed; 6 whole, by a key you have not
  named; 7 wrong key; 8 a file is missing; 9 a file was added; 10 journal cut or in
  another order; 11 written by a newer holdfast`;

/** Why the run ended outranks what was found so far, and trouble outranks a wish to stop. */
export function exitStatusOf(end: {
  readonly verdict: Verdict;
  readonly cause: EndCause;
  /** Every rail that was raised was proved off. */
  readonly allProvedOff: boolean;
  /** Hand mode has nothing to pass: that it ended as the person wished is all it can do well. */
  readonly mode?: RunMode;
}): ExitStatus {
  if (!end.allProvedOff || FAULTS.has(end.cause)) return EXIT.trouble;
  if (end.mode === "rig check" && end.cause === "rig unfit") return EXIT.notPass;
  if (end.verdict === "fail" || end.verdict === "conditional fail") return EXIT.notPass;
  if (end.cause === "stopped by the person" || end.cause === "signal") return EXIT.stopped;
  if (end.verdict === "void" || !QUIET_CAUSES.has(end.cause)) return EXIT.trouble;
  const judgesNothing = end.mode === "hand" || end.mode === "rig check";
  if (judgesNothing && end.cause === "completed") return EXIT.pass;
  return end.verdict === "not tested" ? EXIT.notPass : EXIT.pass;
}

/** After these nothing that was found can be relied on. */
const FAULTS: ReadonlySet<EndCause> = new Set(["journal fault", "internal fault"]);

/** Ends that are no trouble of the bench. */
const QUIET_CAUSES: ReadonlySet<EndCause> = new Set([
  "completed",
  "first fail",
  "steady error",
  "not warm",
]);
