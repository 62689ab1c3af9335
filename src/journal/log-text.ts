/** The lines of the log: what happened, in the trade's words, with volts. */
import type { ChannelReading, JudgedReading, RunEvent } from "../events/events.ts";
import { limitText, voltsText, windowText } from "../measure/volts-text.ts";
import type { FoldedRun } from "./account.ts";
import type { LogLine } from "./snapshot.ts";

type Said = Omit<LogLine, "ms">;

/**
 * What an event adds to the log, given the run before it. Periodic looks, moves during a hold and
 * readings of a hold that are as expected say nothing: a night of them would bury the rest.
 */
export function logLinesOf(event: RunEvent, run: FoldedRun): Said[] {
  switch (event.kind) {
    case "run-opened":
      return [info(openedText(event))];
    case "controller":
      return [
        info(
          `controller ${event.model} ${event.serial}, firmware ${event.firmware}, ` +
            `boot ${event.bootCount} after ${event.resetCause}`,
        ),
      ];
    case "phase":
      return [info(event.phase)];
    case "rail-switched":
      return [info(`${event.rail} switched ${event.on ? "on" : "off"}`)];
    case "gate":
      return [gateLine(event)];
    case "trips-armed":
      return [info(event.armed ? "trips armed" : "trips disarmed")];
    case "lines":
      return run.phase === "holding" || run.phase === "warming up"
        ? []
        : [info(levelsText(event.set))];
    case "watch":
    case "hold-progress":
      return [];
    case "net-warm":
      return [good(warmText(event))];
    case "warm-up-ended":
      return warmUpEnded(event);
    case "step-begun":
      return [info(`step ${event.step + 1} of ${run.steps.length}: ${event.name}`)];
    case "reading":
      return readingLines(event);
    case "step-ended":
      return [stepEnded(event)];
    default:
      return lateLines(event);
  }
}

type LateEvent = Extract<
  RunEvent,
  { kind: "controller-event" | "stop-requested" | "rail-fall" | "remark" | "fault" | "run-closed" }
>;

function lateLines(event: LateEvent): Said[] {
  switch (event.kind) {
    case "controller-event":
      return [bad(controllerEventText(event))];
    case "stop-requested":
      return [
        warning(
          `stop asked for by ${event.by === "person" ? "the person" : "a signal"}: ${event.detail}`,
        ),
      ];
    case "rail-fall":
      return [fallLine(event)];
    case "remark":
      return [info(event.text)];
    case "fault":
      return [bad(`${event.net === null ? "" : `${event.net}: `}${event.message} (${event.code})`)];
    case "run-closed":
      return [
        {
          text: `${event.verdict}: ${event.cause}${event.detail === "" ? "" : `, ${event.detail}`}`,
          weight: event.verdict === "pass" ? "good" : event.verdict === "fail" ? "bad" : "warning",
        },
      ];
  }
}

/** `Q read 21.40 V, expected low: between, at most 18 V is low` and the like. */
export function judgedText(reading: JudgedReading): string {
  if (reading.volts === null) {
    return `${reading.channel} gave no reading (${reading.noReading}), expected ${reading.expected}`;
  }
  const read = `${reading.channel} read ${voltsText(reading.volts)}`;
  if (reading.limitV === null || reading.reason === "as expected") {
    return `${read}, ${reading.class ?? "no class"}`;
  }
  const bound = reading.expected === "high" ? "at least" : "at most";
  const limit = `${bound} ${limitText(reading.limitV)} V`;
  return reading.reason === "margin short"
    ? `${read}, ${reading.expected} but margin short, ${limit} required`
    : `${read}, expected ${reading.expected}: ${reading.class}, ${limit} required`;
}

function readingText(reading: ChannelReading): string {
  return reading.volts === null ? `no reading (${reading.noReading})` : voltsText(reading.volts);
}

export function gateText(event: Extract<RunEvent, { kind: "gate" }>): string {
  const side = event.gate === "source" ? "at its source" : "at the board";
  const found = `${event.rail} ${side} ${readingText(event.reading)}`;
  return event.open
    ? `${found}, inside ${windowText(event)}`
    : `${found}, expected ${windowText(event)}`;
}

export function controllerEventText(
  event: Extract<RunEvent, { kind: "controller-event" }>,
): string {
  const what = {
    restarted: "controller restarted",
    tripped: "controller tripped",
    "dead-man": "controller heard nothing in time and switched off",
    "link-lost": "link to the controller lost",
  }[event.event];
  const at = event.channel === null ? "" : ` on ${event.channel}`;
  const volts = event.volts === null ? "" : ` at ${voltsText(event.volts)}`;
  return `${what}${at}${volts}${event.detail === "" ? "" : `: ${event.detail}`}`;
}

export function fallText(event: Extract<RunEvent, { kind: "rail-fall" }>): string {
  const volts = event.volts === null ? "" : `, ${voltsText(event.volts)}`;
  const took = event.tookMs === null ? "" : ` after ${secondsText(event.tookMs)}`;
  switch (event.proof) {
    case "verified":
      return `${event.rail} off, its fall read${volts}${took}`;
    case "never raised":
      return `${event.rail} was never raised${volts}`;
    case "lead lost":
      return `${event.rail} NOT proved off: its lead was lost${volts}; treat it as live`;
    case "unproved":
      return `${event.rail} NOT proved off${volts}${took}; treat it as live`;
  }
}

function openedText(event: Extract<RunEvent, { kind: "run-opened" }>): string {
  const { board } = event.plan;
  const unit = event.unit === null ? "unit not named" : `unit ${event.unit}`;
  const seed = event.seed === null ? "" : `, seed ${event.seed}`;
  return `${board.name} revision ${board.revision}, ${unit}, on ${event.bench}${seed}`;
}

function gateLine(event: Extract<RunEvent, { kind: "gate" }>): Said {
  return event.open ? good(gateText(event)) : bad(gateText(event));
}

function warmText(event: Extract<RunEvent, { kind: "net-warm" }>): string {
  const steady = event.steadyMs === null ? "" : `, steady at ${secondsText(event.steadyMs)}`;
  return `${event.net} pulled low to ${voltsText(event.volts)}, valid by ${secondsText(event.validMs)}${steady}`;
}

function warmUpEnded(event: Extract<RunEvent, { kind: "warm-up-ended" }>): Said[] {
  if (event.warm) {
    return [good(`every section warm after ${secondsText(event.tookMs)}`)];
  }
  if (event.cold.length === 0) {
    return [bad(`warm-up ended after ${secondsText(event.tookMs)} without every section warm`)];
  }
  return event.cold.map((one) => bad(coldText(one, event.tookMs)));
}

/** `Q was never pulled low in 60.0 s, last read 46.20 V` */
export function coldText(
  cold: { readonly net: string; readonly volts: number | null },
  tookMs: number,
): string {
  const last = cold.volts === null ? "gave no reading" : `last read ${voltsText(cold.volts)}`;
  return `${cold.net} not warm after ${secondsText(tookMs)}, ${last}`;
}

function readingLines(event: Extract<RunEvent, { kind: "reading" }>): Said[] {
  const missed = event.readings.filter(({ result }) => result !== "pass");
  if (missed.length > 0) {
    return missed.map((one) => (one.result === "fail" ? bad : warning)(judgedText(one)));
  }
  if (event.readings.length === 0 || event.part === "hold" || event.part === "flip") {
    return [];
  }
  return [good(event.readings.map(judgedText).join("; "))];
}

function stepEnded(event: Extract<RunEvent, { kind: "step-ended" }>): Said {
  const text = `step ${event.step + 1}: ${event.result}`;
  return event.result === "pass" ? good(text) : event.result === "fail" ? bad(text) : warning(text);
}

function fallLine(event: Extract<RunEvent, { kind: "rail-fall" }>): Said {
  if (event.proof === "verified") {
    return good(fallText(event));
  }
  return event.proof === "never raised" ? info(fallText(event)) : bad(fallText(event));
}

function levelsText(levels: Readonly<Record<string, string>>): string {
  return Object.entries(levels)
    .map(([line, level]) => `${line} ${level}`)
    .join(", ");
}

function secondsText(ms: number): string {
  return `${(ms / 1000).toFixed(1)} s`;
}

function info(text: string): Said {
  return { text, weight: "info" };
}

function good(text: string): Said {
  return { text, weight: "good" };
}

function bad(text: string): Said {
  return { text, weight: "bad" };
}

function warning(text: string): Said {
  return { text, weight: "warning" };
}
