/** The state of a run in one short word, to be drawn tall. Every state has a word of its own. */
import type { Phase } from "../events/events.ts";
import type { Verdict } from "../events/levels.ts";
import { driftSoFar } from "../journal/drift-so-far.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import type { Tone } from "./text-line.ts";
import { verdictTone } from "./verdict-sentence.ts";

export interface StateWord {
  readonly word: string;
  readonly tone: Tone;
}

const PHASE_WORDS: Readonly<Record<Exclude<Phase, "ended">, string>> = {
  connecting: "WAIT",
  "checking supplies": "CHECK",
  heating: "HEAT",
  "raising bias": "BIAS",
  "raising plate": "PLATE",
  "warming up": "WARM UP",
  stepping: "STEP",
  holding: "HOLD",
  "by hand": "HAND",
  "walking the relays": "RELAYS",
  "testing the dead-man": "SILENCE",
  frozen: "FROZEN",
  standby: "STANDBY",
  soaking: "SOAK",
  dwelling: "DWELL",
  "heaters low": "COOLER",
  "power off": "OFF",
  "powering down": "DOWN",
};

const VERDICT_WORDS: Readonly<Record<Verdict, string>> = {
  pass: "PASS",
  "conditional pass": "PASS?",
  "conditional fail": "FAIL?",
  fail: "FAIL",
  void: "VOID",
  "not tested": "NO TEST",
};

/** In these a person may touch what they think is dead, or what comes on again by itself. */
const LOOKS_DEAD: ReadonlySet<Phase> = new Set<Phase>([
  "by hand",
  "frozen",
  "standby",
  "dwelling",
  "power off",
]);

/** Cycling goes on after a wrong cycle: whether there was one must show from across the room. */
function soakWord(snapshot: RunSnapshot): StateWord {
  if ((snapshot.soak?.counts.wrong ?? 0) > 0) return { word: "WRONG", tone: "bad" };
  const isMoving = (driftSoFar(snapshot)?.findings.length ?? 0) > 0;
  return isMoving ? { word: "DRIFT", tone: "warning" } : { word: "SOAK", tone: "strong" };
}

/**
 * A rail that is not proved off outranks everything else a word could say.
 *
 * @param isSilent nothing is heard of the run any more: what it did last is old
 */
export function stateWord(snapshot: RunSnapshot, isSilent = false): StateWord {
  const { phase, verdict } = snapshot;
  const isLive = snapshot.rails.some(
    ({ on, fall }) => !on && (fall === "unproved" || fall === "lead lost"),
  );
  if (isLive) return { word: "LIVE!", tone: "bad" };
  if (isSilent) return { word: "SILENT", tone: "warning" };
  if (verdict !== null) return { word: VERDICT_WORDS[verdict], tone: verdictTone(verdict) };
  if (phase === "ended") return { word: "VOID", tone: "warning" };
  if (phase === "soaking" && snapshot.soak !== undefined) return soakWord(snapshot);
  return { word: PHASE_WORDS[phase], tone: LOOKS_DEAD.has(phase) ? "warning" : "strong" };
}
