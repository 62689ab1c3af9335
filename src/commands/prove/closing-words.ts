/** What is said when a proof has ended: verdict, where everything is, what to do next. */
import type { EndCause } from "../../events/events.ts";
import type { Verdict } from "../../events/levels.ts";
import { driftSoFar } from "../../journal/drift-so-far.ts";
import type { RunSnapshot } from "../../journal/snapshot.ts";
import type { RunEnd } from "../../run/start-run.ts";
import { dangerSentence, liveSentence } from "../../screen/state-panel.ts";
import { missSentence, verdictSentence } from "../../screen/verdict-sentence.ts";
import { couldSeeWords, findingWords } from "../../verdict/drift/drift-words.ts";

export interface KeptFiles {
  readonly journal: string;
  /** Null when no record could be made. */
  readonly record: string | null;
  readonly rig: string;
  /** The rig stands blocked until its rails are confirmed off by hand. */
  readonly blocked: boolean;
}

/** How a run ended by its own word, for when its journal could not be told. */
export type EndedSo = Pick<RunEnd, "cause" | "detail" | "allProvedOff" | "falls">;

const UNCLOSED = "The run was not closed: its journal holds no verdict.";

/** @param end null for a run that another program made */
export function closingWords(
  snapshot: RunSnapshot,
  files: KeptFiles,
  end: EndedSo | null,
): string[] {
  const verdict = verdictSentence(snapshot);
  const miss = missSentence(snapshot);
  const live = liveSentence(snapshot);
  const ended = verdict === null ? unclosedWords(end) : [verdict];
  const said = [...ended, miss, ...driftWords(snapshot), live].filter((one) => one !== null);
  return [
    ...said,
    `Journal: ${files.journal}`,
    ...(files.record === null ? [] : [`Record:  ${files.record}`]),
    ...(files.record === null || snapshot.soak === undefined
      ? []
      : [`Page:    ${files.record.replace(/\.txt$/, ".html")}`]),
    `Next: ${nextWords(snapshot, files)}`,
  ];
}

/** Nothing of the way down stands in the journal, so it is said here or nowhere. */
function unclosedWords(end: EndedSo | null): string[] {
  if (end === null) return [UNCLOSED];
  const { cause, detail, allProvedOff, falls } = end;
  const why = `The run was not closed, and its journal holds no verdict. It ended with a ${cause}: ${detail}`;
  if (allProvedOff) return [why, "Every rail that had been raised was proved off."];
  const unproved = falls.filter(({ proof }) => proof !== "verified").map(({ rail }) => rail);
  return [
    why,
    dangerSentence(unproved) ?? "DANGER: not every rail was proved off. Measure by hand.",
  ];
}

/** Of a soak: who drifts, how sure that is and what to try; else what would have been seen. */
function driftWords(snapshot: RunSnapshot): string[] {
  const report = driftSoFar(snapshot);
  if (report === null) return [];
  const found = report.findings.map((one) => {
    const { claim, sure, next } = findingWords(one, report);
    return `Drift: ${claim}. How sure: ${sure}. Try: ${next}.`;
  });
  if (found.length > 0) return found;
  if (!report.judged) return [`Drift not judged: ${report.why}.`];
  const [first = "", ...rest] = couldSeeWords(report);
  const more = rest.length === 0 ? "" : ` (${rest.length} more in the record)`;
  return [`Drift: nothing moved that is a finding; ${first}${more}.`];
}

/** A soak that was cut short is taken up again as a soak. */
function soakNextWords(snapshot: RunSnapshot): string | null {
  const { soak, cause, verdict } = snapshot;
  if (soak === undefined) return null;
  if (cause === "stopped by the person" || cause === "signal") {
    return "what is counted stands; holdfast soak begins another, holdfast tell RUN says what may be claimed.";
  }
  if (cause === "steady error" || soak.counts.wrong > 0) {
    return "holdfast tell RUN shows each kind of wrong cycle and what they have in common; reseat the tube and contacts of the named net, then soak again.";
  }
  if ((driftSoFar(snapshot)?.findings.length ?? 0) > 0) {
    return "do what is said of the drift, then soak again; holdfast tubes keeps it with the tube.";
  }
  return verdict === "pass"
    ? "holdfast tell RUN says what may be claimed of it; keep the record with the unit."
    : null;
}

function nextWords(snapshot: RunSnapshot, files: KeptFiles): string {
  if (files.blocked) {
    return `measure every rail by hand, then holdfast confirm-off ${files.rig} --by INITIALS --volts RAIL=VOLTS for each.`;
  }
  if (liveSentence(snapshot) !== null) {
    return "measure every rail by hand before you touch the board, its leads or its sockets.";
  }
  const { cause, verdict, firstMiss, mode } = snapshot;
  if (mode === "hand" && cause === "completed") {
    return "holdfast prove judges the board; holdfast replay JOURNAL shows what was read by hand.";
  }
  if (mode === "rig check" && cause === "completed") {
    return "put the board on the connector again; holdfast prove names this check in its record.";
  }
  const soaked = soakNextWords(snapshot);
  if (soaked !== null) return soaked;
  const byCause = cause === null ? undefined : NEXT_BY_CAUSE[cause];
  if (byCause !== undefined) return byCause;
  if (verdict === "fail" && firstMiss !== null) {
    return `measure ${firstMiss.net} on the board by hand with rails on; if it agrees, look at the stage that drives it and at its input parts.`;
  }
  return verdict === null ? "replay the journal to see how far it came." : NEXT_BY_VERDICT[verdict];
}

const NEXT_BY_CAUSE: Readonly<Partial<Record<EndCause, string>>> = {
  "stopped by the person": "prove again when you are ready; nothing was judged to the end.",
  signal: "prove again when you are ready; nothing was judged to the end.",
  trip: "find what drew or rose before switching on again: measure the supply with the board unplugged.",
  "link lost": "check the cable and the controller's supply; rails are off by its own dead-man.",
  "controller restarted": "check the controller's 5 V and its cable, then prove again.",
  "dead-man": "close what else loads this computer, then prove again.",
  "supply refused":
    "set the supply to its nominal volts with the board unplugged, then prove again.",
  "rig unfit": "do what is said there, then holdfast rig-check FOLDER with the board unplugged.",
  "not warm": "look whether the heater of the named stage glows; else swap the tube.",
  "line off its level":
    "check the contact, lead and source of the named line; the board was not judged.",
  "journal fault": "free the disk or name another --runs folder, then prove again.",
  "internal fault":
    "keep the journal and report it: this is a fault of the program, not of the board.",
};

const NEXT_BY_VERDICT: Readonly<Record<Verdict, string>> = {
  pass: "label the unit; holdfast release RUN makes a sealed record of it.",
  "conditional pass": "holdfast release RUN seals the draft as it is; a reading is near its limit.",
  "conditional fail": "measure the named net with a better meter before you change anything.",
  fail: "measure the named net by hand with rails on, then look at the stage that drives it.",
  void: "mend the bench first; nothing was found out about the board.",
  "not tested": "prove again and let every step run.",
};
