/**
 * One plain line per event, for pipes, files and terminals that cannot be drawn on.
 *
 * Every line stands alone: time since the run was opened, what happened, volts, limits, result.
 */
import type { ChannelReading, JournalEntry, JudgedReading, RunEvent } from "../events/events.ts";
import { byPersonLine, isByPerson } from "../journal/by-person-text.ts";
import { isOfSoak } from "../journal/fold-soak.ts";
import {
  budgetText,
  coldText,
  controllerEventText,
  fallText,
  gateText,
  switchedText,
} from "../journal/log-text.ts";
import type { RunSnapshot } from "../journal/snapshot.ts";
import { soakPlainText } from "../journal/soak-text.ts";
import { readingText } from "../measure/reading-text.ts";
import { limitText, measuredText, rippleText, voltsText } from "../measure/volts-text.ts";
import { findingText, rigCheckedText } from "../verdict/rig-fault-words.ts";
import { secondsText } from "./duration-text.ts";
import { cleanText } from "./text-line.ts";
import { missSentence, verdictSentence } from "./verdict-sentence.ts";

const SECONDS_COLUMNS = 9;

/**
 * @param snapshot the fold up to and including `entry`
 * @returns the line without its end, or null for an event that says nothing new to a reader: the
 *   periodic watch of the rails, and moves of lines that warm-up, hold and soak count themselves
 */
export function plainLine(entry: JournalEntry, snapshot: RunSnapshot): string | null {
  const text = eventText(entry.event, snapshot);
  if (text === null) return null;
  return `${(entry.ms / 1000).toFixed(3).padStart(SECONDS_COLUMNS)} s  ${cleanText(text, false).trimEnd()}`;
}

/** The sealed entry as one JSON object on one line. */
export function jsonLine(entry: JournalEntry): string {
  return JSON.stringify(entry);
}

function eventText(event: RunEvent, snapshot: RunSnapshot): string | null {
  switch (event.kind) {
    case "run-opened":
      return openedText(event);
    case "controller":
      return `controller ${event.model} ${event.serial}, firmware ${event.firmware}, last reset by ${event.resetCause}, boot ${event.bootCount}`;
    case "phase":
      return `now ${event.phase}`;
    case "rail-switched":
      return `rail ${switchedText(event)}`;
    case "gate":
      return `rail ${gateText(event, snapshot.plan)}, waited ${Math.round(event.waitedMs)} ms: ${event.open ? "ok" : "REFUSED"}`;
    case "trips-armed":
      return event.armed ? "trip limits armed" : "trip limits disarmed";
    case "lines":
      return isDriving(snapshot) ? null : `lines set: ${pairsText(event.set)}`;
    case "watch":
      return null;
    case "hand-reading":
      return `read: ${event.readings.map((one) => classedText(one, snapshot)).join("; ")}`;
    case "stop-requested":
      return `stop requested by ${event.by === "person" ? "the person" : "a signal"} (${event.detail}): powering down`;
    case "rig-checked":
      return [rigCheckedText(event), ...event.findings.map(findingText)].join("; ");
    case "remark":
      return `note: ${event.text}`;
    case "budget":
      return budgetText(event.budget);
    case "fault":
      return `FAULT ${event.code}: ${event.message}`;
    case "controller-event":
      return controllerEventText(event);
    case "rail-fall":
      return `rail ${fallText(event)}`;
    case "run-closed":
      return closedText(event, snapshot);
    default:
      if (isOfSoak(event)) return soakPlainText(event, snapshot);
      return isByPerson(event)
        ? byPersonLine(event, snapshot.plan).text
        : provingText(event, snapshot);
  }
}

type ProvingEvent = Extract<
  RunEvent,
  {
    kind: "net-warm" | "warm-up-ended" | "step-begun" | "reading" | "hold-progress" | "step-ended";
  }
>;

function isTakenOver({ rails }: RunSnapshot): boolean {
  return rails.some(({ takenOverMs }) => takenOverMs !== undefined);
}

function provingText(event: ProvingEvent, snapshot: RunSnapshot): string {
  switch (event.kind) {
    case "net-warm": {
      const steady = event.steadyMs === null ? "" : `, steady by ${secondsText(event.steadyMs)} s`;
      return `${event.net} pulled low, ${voltsText(event.volts)}, valid by ${secondsText(event.validMs)} s after heaters ${isTakenOver(snapshot) ? "were taken over" : "on"}${steady}`;
    }
    case "warm-up-ended":
      return warmUpText(event, snapshot);
    case "step-begun":
      return `${stepText(event.step, snapshot)}: begun`;
    case "reading":
      return `${stepText(event.step, snapshot)}${partText(event.part)}: ${event.readings.map((one) => judgedText(one, snapshot)).join("; ")}`;
    case "hold-progress":
      return `${stepText(event.step, snapshot)}${partText(event.part)}: ${secondsText(event.elapsedMs)} of ${secondsText(event.forMs)} s, ${event.readingSets} reading sets as expected, ${event.moves} moves${worstText(event.worst)}`;
    case "step-ended":
      return `${stepText(event.step, snapshot)}: ${event.result}`;
  }
}

/** Warm-up, hold and soak move lines hundreds of times; their own events say how often and why. */
function isDriving({ phase }: RunSnapshot): boolean {
  return phase === "warming up" || phase === "holding" || phase === "soaking";
}

function openedText(event: Extract<RunEvent, { kind: "run-opened" }>): string {
  const { board, sequence, rig } = event.plan;
  const unit = event.unit === null ? "unit not named" : `unit ${event.unit}`;
  const seed = event.seed === null ? "" : `, seed ${event.seed}`;
  return `run ${event.run}: board ${board.name} revision ${board.revision}, ${unit}, sequence ${sequence.name}, rig ${rig.name}, ${event.bench}${seed}, ${event.wall}; rule: ${event.rule}`;
}

function closedText(
  event: Extract<RunEvent, { kind: "run-closed" }>,
  snapshot: RunSnapshot,
): string {
  const verdict = verdictSentence(snapshot) ?? event.verdict.toUpperCase();
  const miss = missSentence(snapshot);
  const detail = event.detail === "" ? "" : ` (${event.detail})`;
  return `verdict ${verdict}${miss === null ? "" : ` ${miss}`} Ended: ${event.cause}${detail}.`;
}

function warmUpText(
  event: Extract<RunEvent, { kind: "warm-up-ended" }>,
  snapshot: RunSnapshot,
): string {
  if (event.warm) return `warm after ${secondsText(event.tookMs)} s`;
  const cold = event.cold.map((one) => coldText(one, event.tookMs, snapshot.plan));
  return cold.length > 0
    ? `NOT WARM: ${cold.join("; ")}`
    : `warm-up broken off after ${secondsText(event.tookMs)} s`;
}

/** `Q 41.92 V high ok (at or above 36 V, room 5.92 V)`. */
function judgedText(reading: JudgedReading, snapshot: RunSnapshot): string {
  if (reading.volts === null) {
    return `${reading.channel} ${readingText(reading, snapshot.plan)}, ${reading.expected} wanted: VOID`;
  }
  const limit = reading.limitV === null ? "" : `, ${limitWords(reading)}`;
  const found = `${reading.channel} ${measuredText(reading.volts, reading)}${rippleText(reading)} ${reading.class ?? "no class"}`;
  if (reading.result === "pass") return `${found} ok${limit}`;
  const reason = reading.reason === "as expected" ? "" : `, ${reading.reason}`;
  return `${found}, ${reading.expected} wanted${limit}${reason}: ${reading.result.toUpperCase()}`;
}

/** `Q 42.86 V high`, of a reading that nothing is expected of. */
function classedText(reading: ChannelReading, { plan, channels }: RunSnapshot): string {
  const found = channels.find(({ channel }) => channel === reading.channel)?.class ?? "no class";
  return reading.volts === null
    ? `${reading.channel} ${readingText(reading, plan)}`
    : `${reading.channel} ${measuredText(reading.volts, reading)} ${found}`;
}

function limitWords(reading: JudgedReading): string {
  if (reading.limitV === null) return "";
  const side = reading.expected === "low" ? "at most" : "at least";
  return `${side} ${limitText(reading.limitV)} V`;
}

function stepText(step: number, snapshot: RunSnapshot): string {
  const planned = snapshot.plan?.steps[step];
  const count = snapshot.plan?.steps.length ?? snapshot.steps.length;
  return planned === undefined
    ? `step ${step + 1}`
    : `step ${step + 1} of ${count} "${planned.name}"`;
}

function partText(part: "pattern" | "inactive" | "hold" | "flip"): string {
  if (part === "pattern") return "";
  return part === "inactive" ? ", inputs inactive" : `, ${part}`;
}

function pairsText(levels: Readonly<Record<string, string>>): string {
  return Object.entries(levels)
    .map(([name, level]) => `${name} ${level}`)
    .join(", ");
}

function worstText(
  worst: Readonly<Record<string, { readonly lowV: number; readonly highV: number }>>,
): string {
  const spans = Object.entries(worst).map(
    ([name, { lowV, highV }]) => `${name} ${voltsText(lowV)} to ${voltsText(highV)}`,
  );
  return spans.length === 0 ? "" : `; seen ${spans.join(", ")}`;
}
