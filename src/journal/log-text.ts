/** The lines of the log: what happened, in the trade's words, with volts. */
import type {
  ChannelReading,
  ColdNet,
  JudgedReading,
  Phase,
  ReadingBudget,
  RunEvent,
} from "../events/events.ts";
import { type KnownChannels, readingText } from "../measure/reading-text.ts";
import {
  limitText,
  measuredText,
  rippleText,
  uncertaintyText,
  voltsText,
  windowText,
} from "../measure/volts-text.ts";
import { findingText, rigCheckedText } from "../verdict/rig-fault-words.ts";
import type { FoldedRun } from "./account.ts";
import { byPersonLine, isByPerson } from "./by-person-text.ts";
import { isOfSoak } from "./fold-soak.ts";
import type { LogLine } from "./snapshot.ts";
import { soakLogLines } from "./soak-text.ts";

type Said = Omit<LogLine, "ms">;

/** Phases in which lines move again and again by themselves. */
const MOVED_ON_AND_ON: ReadonlySet<Phase> = new Set<Phase>([
  "holding",
  "warming up",
  "frozen",
  "soaking",
]);

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
      return [info(switchedText(event))];
    case "gate":
      return [gateLine(event, run.plan)];
    case "trips-armed":
      return [info(event.armed ? "trips armed" : "trips disarmed")];
    case "lines":
      return MOVED_ON_AND_ON.has(run.phase) ? [] : [info(levelsText(event.set))];
    case "watch":
    case "hand-reading":
    case "hold-progress":
      return [];
    case "net-warm":
      return [good(warmText(event))];
    case "warm-up-ended":
      return warmUpEnded(event, run.plan);
    case "step-begun":
      return [info(`step ${event.step + 1} of ${run.steps.length}: ${event.name}`)];
    case "reading":
      return readingLines(event, run.plan);
    case "budget":
      return [info(budgetText(event.budget))];
    case "step-ended":
      return [stepEnded(event)];
    default: {
      if (isOfSoak(event)) return soakLogLines(event, run);
      if (!isByPerson(event)) return lateLines(event);
      const isMoreOfTheSame =
        event.kind === "freeze-turn" && event.result === run.freeze?.newestByStep[event.step];
      return isMoreOfTheSame ? [] : [byPersonLine(event, run.plan)];
    }
  }
}

type LateEvent = Extract<
  RunEvent,
  {
    kind:
      | "controller-event"
      | "stop-requested"
      | "rail-fall"
      | "rig-checked"
      | "remark"
      | "fault"
      | "run-closed";
  }
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
    case "rig-checked":
      return rigCheckedLines(event);
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

const RULING_TERMS = 2;

/** `Q high is known to ±0.71 V (k 1.9), most of it divider 0.21 V, loading 0.14 V` */
export function budgetText({ channel, expandedV, k, terms, ...rest }: ReadingBudget): string {
  const byName = new Map<string, number>();
  for (const { name, u } of terms) byName.set(name, Math.hypot(byName.get(name) ?? 0, u));
  const ruling = [...byName]
    .sort(([, one], [, other]) => other - one)
    .slice(0, RULING_TERMS)
    .map(([name, u]) => `${name} ${uncertaintyText(u)} V`);
  return `${channel} ${rest.class} is known to ±${uncertaintyText(expandedV)} V (95 %, k ${k.toFixed(2)}), most of it ${ruling.join(", ")}`;
}

function rigCheckedLines(event: Extract<RunEvent, { kind: "rig-checked" }>): Said[] {
  const found = event.findings.map((one) =>
    (one.severity === "unfit" ? bad : warning)(findingText(one)),
  );
  return [(event.fit ? good : bad)(rigCheckedText(event)), ...found];
}

/** What happened to a rail's relay, or that it was on already. */
export function switchedText({
  rail,
  on,
  takenOverMs,
}: Extract<RunEvent, { kind: "rail-switched" }>): string {
  return takenOverMs === undefined
    ? `${rail} switched ${on ? "on" : "off"}`
    : `${rail} taken over, on for ${secondsText(takenOverMs)} already`;
}

/** `Q read 21.40 V, expected low: between, at most 18 V is low` and the like. */
export function judgedText(reading: JudgedReading, known: KnownChannels): string {
  if (reading.volts === null) {
    const gave = `${reading.channel} gave ${readingText(reading, known)}`;
    const next = isZeroNet(reading, known) ? `. ${leadOrLoadText(reading.channel)}` : "";
    return `${gave}, expected ${reading.expected}${next}`;
  }
  const read = `${reading.channel} read ${measuredText(reading.volts, reading)}${rippleText(reading)}`;
  if (reading.limitV === null || reading.reason === "as expected") {
    return `${read}, ${reading.class ?? "no class"}`;
  }
  const bound = reading.expected === "high" ? "at least" : "at most";
  const limit = `${bound} ${limitText(reading.limitV)} V`;
  if (reading.reason === "in guard band") {
    return `${read}, ${reading.expected}, but nearer to its limit than U: ${limit}`;
  }
  return reading.reason === "margin short"
    ? `${read}, ${reading.expected} but margin short, ${limit} required`
    : `${read}, expected ${reading.expected}: ${reading.class}, ${limit} required`;
}

type GateEvent = Extract<RunEvent, { kind: "gate" }>;

export function gateText(event: GateEvent, known: KnownChannels): string {
  const side = event.gate === "source" ? "at its source" : "at the board";
  const found = `${event.rail} ${side} ${readingText(event.reading, known)}`;
  return event.open
    ? `${found}, inside ${windowText(event)}`
    : `${found}, expected ${windowText(event)}`;
}

/** A gate that stayed shut, and what to look at first. */
export function shutGateText(event: GateEvent, known: KnownChannels): string {
  const next =
    event.gate === "source"
      ? "Set the supply, or check its leads and its divider"
      : "Check the relay, its fuse and the board-side lead";
  return `${gateText(event, known)}. ${next}`;
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
    case "kept on":
      return `${event.rail} kept ON for the next run${volts}`;
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

function gateLine(event: GateEvent, known: KnownChannels): Said {
  const text = gateText(event, known);
  return event.open ? good(text) : bad(text);
}

function warmText(event: Extract<RunEvent, { kind: "net-warm" }>): string {
  const steady = event.steadyMs === null ? "" : `, steady at ${secondsText(event.steadyMs)}`;
  return `${event.net} pulled low to ${voltsText(event.volts)}, valid by ${secondsText(event.validMs)}${steady}`;
}

function warmUpEnded(
  event: Extract<RunEvent, { kind: "warm-up-ended" }>,
  known: KnownChannels,
): Said[] {
  if (event.warm) {
    return [good(`every section warm after ${secondsText(event.tookMs)}`)];
  }
  if (event.cold.length === 0) {
    return [bad(`warm-up ended after ${secondsText(event.tookMs)} without every section warm`)];
  }
  return event.cold.map((one) => bad(coldText(one, event.tookMs, known)));
}

/** `Q not warm after 60.0 s, last read 46.20 V` */
export function coldText(cold: ColdNet, tookMs: number, known: KnownChannels): string {
  return `${cold.net} not warm after ${secondsText(tookMs)}, ${lastLookText(cold, known)}`;
}

function lastLookText({ net, volts, reading }: ColdNet, known: KnownChannels): string {
  if (volts !== null) return `last read ${voltsText(volts)}`;
  if (reading === undefined) return "gave no reading";
  const gave = `gave ${readingText(reading, known)}`;
  return isZeroNet(reading, known) ? `${gave}. ${leadOrLoadText(net)}` : gave;
}

/** A net, and not a line or a rail, that shows 0 on a lead not proved in this run. */
export function isZeroNet({ channel, noReading }: ChannelReading, known: KnownChannels): boolean {
  const reads = known?.channels.find(({ name }) => name === channel)?.reads;
  return reads?.kind === "net" && noReading === "lead not proved";
}

/** Zero volts is what an open lead shows, and a net whose plate load is open: only a hand can tell. */
export function leadOrLoadText(net: string): string {
  return `Measure ${net} on the board by hand: if it stays there at 0 V too, check its plate load, else its lead`;
}

function readingLines(event: Extract<RunEvent, { kind: "reading" }>, known: KnownChannels): Said[] {
  const missed = event.readings.filter(({ result }) => result !== "pass");
  if (missed.length > 0) {
    return missed.map((one) => (one.result === "fail" ? bad : warning)(judgedText(one, known)));
  }
  if (event.readings.length === 0 || event.part === "hold" || event.part === "flip") {
    return [];
  }
  return [good(event.readings.map((one) => judgedText(one, known)).join("; "))];
}

function stepEnded(event: Extract<RunEvent, { kind: "step-ended" }>): Said {
  const text = `step ${event.step + 1}: ${event.result}`;
  return event.result === "pass" ? good(text) : event.result === "fail" ? bad(text) : warning(text);
}

function fallLine(event: Extract<RunEvent, { kind: "rail-fall" }>): Said {
  if (event.proof === "verified") {
    return good(fallText(event));
  }
  if (event.proof === "kept on") return warning(fallText(event));
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
