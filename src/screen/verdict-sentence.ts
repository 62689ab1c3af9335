/** The verdict in words, and the first reading that did not pass with its volts and limit. */
import type { EndCause, RunMode } from "../events/events.ts";
import type { Verdict } from "../events/levels.ts";
import type { FirstMiss, RunSnapshot } from "../journal/snapshot.ts";
import type { SoakSnapshot } from "../journal/soak-snapshot.ts";
import { voltsText } from "../measure/volts-text.ts";
import { countedText, firstWrongSentence, hoursOn } from "./soak-words.ts";
import type { Tone } from "./text-line.ts";

const VERDICT_SENTENCES: Readonly<Record<Verdict, string>> = {
  pass: "every required reading was taken and is as expected.",
  "conditional pass": "every reading is inside its limit, but nearer than the guard band.",
  "conditional fail": "a reading is outside its limit, but nearer than the guard band.",
  fail: "a required reading is not as expected.",
  void: "the bench gave no ground to judge the board.",
  "not tested": "not every required step was taken.",
};

const CAUSE_SENTENCES: Readonly<Record<EndCause, string>> = {
  completed: "",
  "first fail": "Stopped at the first reading that did not pass.",
  "stopped by the person": "Stopped by the person.",
  signal: "Stopped by a signal.",
  trip: "The controller tripped.",
  "link lost": "The link to the controller was lost.",
  "controller restarted": "The controller restarted during the run.",
  "dead-man": "The controller heard nothing in time and switched off by itself.",
  "supply refused": "A supply was refused before it could be used.",
  "rig unfit": "The rig is not fit to judge a board.",
  "not warm": "A section did not warm up in time.",
  "line off its level": "A driven line did not reach its level.",
  "steady error": "The same error stayed: cycling on would have told nothing more.",
  "journal fault": "The journal could not be written.",
  "internal fault": "The program met a fault of its own.",
};

const JUDGES_NOTHING: Readonly<Record<RunMode, string>> = {
  proof: VERDICT_SENTENCES["not tested"],
  hand: "hand mode judges nothing.",
  soak: VERDICT_SENTENCES["not tested"],
  "rig check": "a rig check judges no board; the rig is fit.",
};

/** `PASS: every required reading ...`; null until the run is closed. */
export function verdictSentence(snapshot: RunSnapshot): string | null {
  if (snapshot.verdict === null) return null;
  const cause = snapshot.cause === null ? "" : CAUSE_SENTENCES[snapshot.cause];
  if (snapshot.soak !== undefined) {
    const soaked = soakSentence(snapshot.soak, snapshot.verdict);
    return cause === "" ? soaked : `${soaked} ${cause}`;
  }
  const isUnjudged = snapshot.mode !== "proof" && snapshot.verdict === "not tested";
  const why = isUnjudged ? JUDGES_NOTHING[snapshot.mode] : VERDICT_SENTENCES[snapshot.verdict];
  const said = `${snapshot.verdict.toUpperCase()}: ${why}`;
  return cause === "" ? said : `${said} ${cause}`;
}

/** Counted cycles stand whatever the verdict is on what was ordered. */
function soakSentence(soak: SoakSnapshot, verdict: Verdict): string {
  const counted = `${countedText(soak)}, in ${hoursOn(soak)} on.`;
  const word = verdict.toUpperCase();
  switch (verdict) {
    case "pass":
      return `${word}: ${counted}`;
    case "not tested":
      return `${word} to its end; counted until then: ${counted}`;
    case "void":
      return `${word}: ${VERDICT_SENTENCES.void} Counted before: ${counted}`;
    case "fail":
      return soak.counts.wrong > 0
        ? `${word}: ${counted}`
        : `${word}: a reading of a full set is not as expected; ${counted}`;
    default:
      return `${word}: ${VERDICT_SENTENCES[verdict]} Of cycles: ${counted}`;
  }
}

/** `First miss: ...`, else `First conditional: ...`; null while every reading passed. */
export function missSentence(snapshot: RunSnapshot): string | null {
  const { firstMiss, firstConditional } = snapshot;
  const wrong = firstWrongSentence(snapshot);
  if (wrong !== null) return wrong;
  if (firstMiss !== null) return placed("First miss", firstMiss, snapshot);
  return firstConditional === undefined
    ? null
    : placed("First conditional", firstConditional, snapshot);
}

function placed(what: string, miss: FirstMiss, { plan }: RunSnapshot): string {
  const step = miss.step === null ? undefined : plan?.steps[miss.step];
  const place = step === undefined ? "" : ` in step ${step.index + 1}, "${step.name}"`;
  const rail = miss.net.split(".")[0] ?? miss.net;
  const named = miss.text.includes(rail) ? miss.text : `${miss.net}: ${miss.text}`;
  // The fold's text carries volts and limit; a text without them still owes the volts.
  const volts =
    miss.volts === null || /\d\s*V\b/.test(named) ? "" : `, read ${voltsText(miss.volts)}`;
  return `${what}${place}: ${named}${volts}${/[.!?]$/.test(named) && volts === "" ? "" : "."}`;
}

export function verdictTone(verdict: Verdict): Tone {
  if (verdict === "pass") return "good";
  return verdict === "fail" || verdict === "conditional fail" ? "bad" : "warning";
}
